import { setTimeout as sleep } from 'node:timers/promises';
import type { Alert } from '@duskline/domain';
import { waitFor } from '@duskline/test-harness';
import { openCallsStand, type CallsStand } from '../calls-stand.ts';
import { judge, type Experiment } from '../experiment.ts';
import { startFaultProxy, type FaultProxy } from '../nemesis/fault-proxy.ts';
import { openMailBox, type MailBox } from '../nemesis/mail-box.ts';
import type { ServerProcess } from '../nemesis/server-process.ts';
import { percentile, seconds } from './figures.ts';

const POINTS = ['claimed', 'before-send', 'after-send', 'recorded'] as const;
/** Where a doubled message comes from; in the short profile the two slower faults are tried here alone. */
const AROUND_SENDING = ['before-send', 'after-send'] as const;
/** `kill`: SIGKILL. `stop`: SIGSTOP for longer than a lease. `wait`: its line to the database is cut there. */
const FAULTS = ['kill', 'stop', 'wait'] as const;

interface Trial {
  readonly point: (typeof POINTS)[number];
  readonly fault: (typeof FAULTS)[number];
}

/** Two servers, one of which fails at every point of a delivery: everything is told, and nothing twice that need not be. */
export const alertHa: Experiment = {
  id: 'E11',
  name: 'alert-ha',
  place: 'waits',
  async run(lab) {
    const each = lab.full ? 9 : 1;
    const plain = lab.full ? 1000 : 100;
    const stand = await openCallsStand(lab);
    const mail = await openMailBox();
    lab.undo(() => mail.close());
    const address = (name: string) => [{ kind: 'email' as const, address: name }];
    const wren = await stand.addPerson('Wren', 'volunteer', address('wren@greywater.example'));
    await stand.addPerson('Isla', 'coordinator', address('isla@greywater.example'));
    await stand.onCall(wren);
    const between = await startFaultProxy(Number(new URL(stand.url).port));
    lab.undo(() => between.close());
    const throughProxy = Object.assign(new URL(stand.url), { port: String(between.port) }).href;
    const env = { DUSKLINE_SMTP_URL: mail.url };
    const survivor = await stand.server('survivor', env);
    const victim = await stand.server('victim', env, throughProxy);
    await Promise.all([survivor.start(), victim.start()]);

    lab.say(`${plain} alerts without a fault`);
    const sound = await tellAll(stand, mail, { count: plain, name: 'Sound' });
    const onceEach = sound.filter((letters) => letters === 1).length;
    const calledOn = await takenStops(stand, mail);
    await victim.stop();

    const seen: (Trial & Awaited<ReturnType<typeof live>>)[] = [];
    for (const fault of FAULTS)
      for (const point of lab.full || fault === 'kill' ? POINTS : AROUND_SENDING) {
        lab.say(`${fault} at ${point}`);
        const parts = { stand, mail, survivor, victim, between };
        seen.push({
          point,
          fault,
          ...(await live({ point, fault }, { ...parts, each, full: lab.full })),
        });
      }
    const sum = (of: (one: (typeof seen)[number]) => number) =>
      seen.reduce((total, one) => total + of(one), 0);
    const alerts = seen.length * each;
    const needless = seen.filter(({ point, doubled }) =>
      point === 'after-send' ? doubled > 1 : doubled > 0,
    );
    const takeoverP95S = seconds(
      percentile(
        seen.map(({ takeoverMs }) => takeoverMs),
        0.95,
      ),
    );
    const figures = {
      alerts,
      delivered: sum(({ delivered }) => delivered),
      doubled: sum(({ doubled }) => doubled),
      otherKeys: sum(({ otherKeys }) => otherKeys),
      onceEach: `${onceEach}/${plain}`,
      takeoverP95S,
      calledOn,
      exits: survivor.exits(),
    };
    return judge(figures, [
      { what: `${alerts - figures.delivered} not told`, reached: figures.delivered === alerts },
      {
        what: `doubled where it need not be: ${needless.map(({ point, fault, doubled }) => `${fault} at ${point} ${doubled}`).join(', ')}`,
        reached: needless.length === 0,
      },
      { what: `${figures.otherKeys} doubled under another key`, reached: figures.otherKeys === 0 },
      { what: `${onceEach} of ${plain} told once without a fault`, reached: onceEach === plain },
      {
        what: `taken over after ${takeoverP95S} s (p95)`,
        isPace: true,
        reached: takeoverP95S <= 15,
      },
      { what: 'somebody was called after it was taken', reached: calledOn === 0 },
      { what: 'the other server ended', reached: figures.exits === 0 },
    ]);
  },
};

const lettersAbout = (mail: MailBox, { text }: Alert) =>
  mail.letters().filter(({ subject }) => subject.endsWith(text.sentence));

/** Raises alerts with all servers well. @returns the number of letters about each */
async function tellAll(
  { raise, sql }: CallsStand,
  mail: MailBox,
  { count, name }: { readonly count: number; readonly name: string },
): Promise<readonly number[]> {
  const alerts = await raise(
    'P1',
    Array.from({ length: count }, (_, i) => `${name} ${i}.`),
  );
  const told = () => alerts.filter((alert) => lettersAbout(mail, alert).length > 0).length;
  await waitFor('all to be told', () => told() === count, { withinMs: 240_000 });
  await sleep(2000);
  await sql`update alert set next_call_at = null`;
  return alerts.map((alert) => lettersAbout(mail, alert).length);
}

/** Somebody takes it just before the next would be called. @returns letters to the next within five seconds and more */
async function takenStops({ raise, sql, store }: CallsStand, mail: MailBox): Promise<number> {
  const [alert] = await raise('P1', ['Taken in time.']);
  if (alert === undefined) throw new Error('No alert was raised.');
  await waitFor('the first to be told', () => lettersAbout(mail, alert)[0], { withinMs: 60_000 });
  const wren = (await store.people.list()).find(({ name }) => name === 'Wren');
  if (wren === undefined) throw new Error('There is no Wren.');
  await sql`
    update alert set next_call_at = to_timestamp(${Date.now() + 2000}::float8 / 1000)
    where next_call_at is not null`;
  await store.alerts.step(alert.id, { kind: 'take' }, wren, Date.now());
  await sleep(8000);
  return lettersAbout(mail, alert).filter(({ to }) => to.startsWith('isla')).length;
}

async function live(
  { point, fault }: Trial,
  about: {
    readonly stand: CallsStand;
    readonly mail: MailBox;
    readonly survivor: ServerProcess;
    readonly victim: ServerProcess;
    readonly between: FaultProxy;
    readonly each: number;
    readonly full: boolean;
  },
) {
  const { stand, mail, survivor, victim, between, each } = about;
  await victim.start({ DUSKLINE_CRASH_AT: '', DUSKLINE_SEND_FAULT: `${point}:${fault}` });
  const printedBefore = victim.output().length;
  // Only the one that is to fail may begin.
  survivor.signal('SIGSTOP');
  const alerts = await stand.raise(
    'P1',
    Array.from({ length: each }, (_, i) => `Trial ${fault} ${point} ${i}.`),
  );
  const hit = () => victim.output().slice(printedBefore).includes(`at ${point}: ${fault}`);
  const reached = await waitFor('the point', hit, { withinMs: 60_000 }).finally(() =>
    survivor.signal('SIGCONT'),
  );
  if (!reached) throw new Error(`${point} was not reached.`);
  if (fault === 'wait') {
    between.refuse(true);
    between.reset();
  }
  const fromMs = Date.now();
  const isTold = () => alerts.every((alert) => lettersAbout(mail, alert).length > 0);
  const isKept = async () => {
    const [row] = await stand.sql<{ due: number }[]>`
      select count(*)::int as due from outbox where kind = 'call' and state = 'due'`;
    return isTold() && row?.due === 0;
  };
  await waitFor('all to be told and recorded', isKept, { withinMs: 120_000, everyMs: 100 });
  const takeoverMs = Date.now() - fromMs;
  if (fault === 'stop') {
    // In the long profile for a whole minute; else until another has taken over.
    if (about.full) await sleep(Math.max(0, 60_000 - takeoverMs));
    victim.signal('SIGCONT');
  }
  if (fault === 'wait') between.refuse(false);
  // Whatever the one that failed still wants to say.
  await sleep(4000);
  await victim.kill9();
  await stand.sql`update alert set next_call_at = null`;
  const letters = alerts.map((alert) => lettersAbout(mail, alert));
  return {
    takeoverMs,
    delivered: letters.filter((of) => of.length > 0).length,
    doubled: letters.reduce((total, of) => total + of.length - 1, 0),
    otherKeys: letters.filter((of) => new Set(of.map(({ key }) => key)).size > 1).length,
  };
}
