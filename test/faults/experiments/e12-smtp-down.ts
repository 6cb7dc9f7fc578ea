import { once } from 'node:events';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import type { Account, Priority } from '@duskline/domain';
import { callKey } from '@duskline/notify';
import { waitFor } from '@duskline/test-harness';
import { openCallsStand, type CallsStand } from '../calls-stand.ts';
import { judge, type Experiment } from '../experiment.ts';
import type { Lab } from '../lab.ts';
import { openMailBox, type MailMood } from '../nemesis/mail-box.ts';
import { seconds } from './figures.ts';

/** Mail fails in every way it can: nothing is lost, what is urgent takes another way, and what was overtaken is not sent. */
export const smtpDown: Experiment = {
  id: 'E12',
  name: 'smtp-down',
  place: 'waits',
  async run(lab) {
    const refusedMs = lab.full ? 7_200_000 : 80_000;
    const moodMs = lab.full ? 60_000 : 8_000;
    const stand = await openCallsStand(lab);
    const mail = await openMailBox();
    lab.undo(() => mail.close());
    const hook = await openReceiver(lab);
    const wren = await stand.addPerson('Wren', 'volunteer', [
      { kind: 'email', address: 'wren@greywater.example' },
      { kind: 'webhook', address: hook.url, secret: 'whsec_dGVzdCBvbmx5LCB0ZXN0IG9ubHk=' },
    ]);
    const letters = ['kay', 'bram', 'nell', 'gone'];
    const others: Account[] = [];
    for (const name of letters)
      others.push(
        await stand.addPerson(name, 'volunteer', [
          { kind: 'email', address: `${name}@greywater.example` },
        ]),
      );
    await stand.onCall(wren);
    const env = { DUSKLINE_SMTP_URL: mail.url, DUSKLINE_TRUSTED_HOSTS: hook.host };
    const server = await stand.server('only', env);
    await server.start();

    mail.be('refused');
    const raisedAtMs = Date.now();
    // The plain ones first: after three calls in half an hour they would be said as one.
    const plain = await stand.raise('P2', ['Plain 0.', 'Plain 1.']);
    await waitFor('the plain ones to be written', async () => {
      const [row] = await stand.sql<{ count: number }[]>`
        select count(*)::int from outbox where kind = 'call'`;
      return row?.count === plain.length;
    });
    const urgent = await stand.raise('P1', ['Urgent 0.', 'Urgent 1.', 'Urgent 2.']);
    await write(stand, others, 'during');
    lab.say('refused');
    await waitFor('another way for what is urgent', () => hook.got().length >= urgent.length, {
      withinMs: 120_000,
    }).catch(() => undefined);
    const fallbackS = seconds(Math.max(...hook.got().map(({ atMs }) => atMs - raisedAtMs)));
    // One is taken while its letter waits: nobody wants that letter any more.
    const [taken] = plain;
    if (taken === undefined) throw new Error('No alert was raised.');
    const person = (await stand.store.people.list()).find(({ id }) => id === wren.id);
    if (person !== undefined)
      await stand.store.alerts.step(taken.id, { kind: 'take' }, person, Date.now());
    await server.kill9();
    await server.start();
    await sleep(Math.max(0, raisedAtMs + refusedMs - Date.now()));
    mail.unknown.add('gone@greywater.example');
    for (const mood of ['greylist', 'tls', 'tarpit'] satisfies MailMood[]) {
      lab.say(mood);
      mail.be(mood);
      await sleep(moodMs);
    }
    const before = mail.letters().length;
    mail.be('well');
    const wellAtMs = Date.now();
    const waiting = async () => {
      const [row] = await stand.sql<{ due: number }[]>`
        select count(*)::int as due from outbox where state = 'due'`;
      return row?.due === 0;
    };
    const isOver = await waitFor('all letters', waiting, { withinMs: 150_000, everyMs: 200 }).catch(
      () => false,
    );
    const recoveryS = seconds(Date.now() - wellAtMs);
    const after = mail.letters().slice(before);
    const got = (what: string) =>
      mail.letters().filter(({ subject }) => subject.includes(what)).length;
    const firstPlainAt = after.findIndex(({ subject }) => isOf('P2', subject));
    const lastUrgentAt = after.findLastIndex(({ subject }) => isOf('P1', subject));
    const gone = (await stand.store.people.find(others[3]?.id ?? wren.id))?.channels[0];
    const lost = [
      ...urgent.map(({ text }) => text.sentence),
      ...plain.slice(1).map(({ text }) => text.sentence),
      ...letters.slice(0, 3).map((name) => `Letter during ${name}`),
    ].filter(
      (what) => got(what) + hook.got().filter(({ body }) => body.includes(what)).length === 0,
    );
    const figures = {
      lost: lost.length,
      recoveryS,
      fallbackS,
      overtaken: got(taken.text.sentence),
      flagged: gone?.fault === undefined ? 0 : 1,
      exits: server.exits(),
      letters: mail.letters().length,
      byOtherWay: hook.got().length,
    };
    return judge(figures, [
      { what: `lost: ${lost.join(', ')}`, reached: lost.length === 0 },
      {
        what: `not all sent ${recoveryS} s after recovery`,
        isPace: true,
        reached: isOver && recoveryS <= 60,
      },
      {
        what: `another way after ${fallbackS} s`,
        isPace: true,
        reached: fallbackS > 0 && fallbackS <= 120,
      },
      {
        what: 'what was not urgent went before what was',
        reached: firstPlainAt === -1 || lastUrgentAt === -1 || firstPlainAt > lastUrgentAt,
      },
      { what: 'an overtaken letter was sent', reached: figures.overtaken === 0 },
      { what: 'the unknown address was not flagged', reached: figures.flagged === 1 },
      { what: 'the server ended', reached: figures.exits === 0 },
    ]);
  },
};

const isOf = (priority: Priority, subject: string): boolean => subject.startsWith(`${priority} `);

/** A letter to each of these, about no alert. */
async function write({ store }: CallsStand, people: readonly Account[], when: string) {
  const nowMs = Date.now();
  for (const { id, name } of people) {
    const channel = (await store.people.find(id))?.channels[0];
    if (channel === undefined) throw new Error(`${name} has no channel.`);
    await store.outbox.add(
      [
        {
          key: callKey(['letter', when, id]),
          kind: 'letter',
          step: 0,
          priority: 'P3',
          personId: id,
          channel: { id: channel.id, kind: channel.kind, breaker: 'email' },
          dueAtMs: nowMs,
          giveUpAtMs: nowMs + 86_400_000,
          body: { subject: `Letter ${when} ${name}`, text: 'Nothing happened.' },
        },
      ],
      nowMs,
    );
  }
}

/** A webhook that answers, and keeps what it is given. */
async function openReceiver(lab: Lab) {
  const got: { readonly atMs: number; readonly body: string }[] = [];
  const server = createServer((request, reply) => {
    let body = '';
    request.on('data', (chunk: Buffer) => (body += chunk.toString()));
    request.on('end', () => {
      got.push({ atMs: Date.now(), body });
      reply.writeHead(204).end();
    });
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  lab.undo(() => server.close());
  const host = `127.0.0.1:${(server.address() as AddressInfo).port}`;
  return { host, url: `http://${host}/calls`, got: () => got };
}
