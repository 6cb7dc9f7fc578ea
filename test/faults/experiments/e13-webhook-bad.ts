import { setTimeout as sleep } from 'node:timers/promises';
import { DAY_MS, SECOND_MS } from '@duskline/domain';
import { breakerOf, callKey } from '@duskline/notify';
import type { NewCall } from '@duskline/store';
import { waitFor } from '@duskline/test-harness';
import { openCallsStand } from '../calls-stand.ts';
import { judge, type Experiment } from '../experiment.ts';
import { BAD_WAYS, BUSY_FOR_S, openReceiver, type Receiver } from '../nemesis/bad-receivers.ts';
import { percentile, seconds } from './figures.ts';

/** The reply is read to 64 KB; what lies in the buffers of both ends comes on top (Linux: up to some megabytes). */
const READ_AT_MOST_BYTES = 8 * 1024 * 1024;

/** Receivers that hang, drip, refuse, flood and lead astray: nobody else waits for them, and each is given up in the end. */
export const webhookBad: Experiment = {
  id: 'E13',
  name: 'webhook-bad',
  place: 'waits',
  async run(lab) {
    const many = lab.full ? 200 : 20;
    const badMs = lab.full ? 300_000 : 45_000;
    const stand = await openCallsStand(lab);
    const bad = await Promise.all(BAD_WAYS.map((way) => openReceiver(lab, way)));
    const well = await Promise.all(Array.from({ length: many }, () => openReceiver(lab, 'well')));
    const secret = 'whsec_dGVzdCBvbmx5LCB0ZXN0IG9ubHk=';
    const rowOf = new Map<Receiver, (name: string, lastsMs: number) => NewCall>();
    for (const [i, receiver] of [...bad, ...well].entries()) {
      const channels = [{ kind: 'webhook' as const, address: receiver.url, secret }];
      const { id } = await stand.addPerson(`Person ${i}`, 'volunteer', channels);
      const channel = (await stand.store.people.find(id))?.channels[0];
      if (channel === undefined) throw new Error('A person has no channel.');
      rowOf.set(receiver, (name, lastsMs) => ({
        key: callKey(['letter', name, channel.id]),
        kind: 'letter',
        step: 0,
        priority: 'P3',
        personId: id,
        channel: {
          id: channel.id,
          kind: 'webhook',
          breaker: breakerOf('webhook', receiver.url),
        },
        dueAtMs: Date.now(),
        giveUpAtMs: Date.now() + lastsMs,
        body: { subject: `Letter ${name}`, text: 'Nothing happened.' },
      }));
    }
    const server = await stand.server('only', {
      DUSKLINE_TRUSTED_HOSTS: [...bad, ...well].map(({ host }) => host).join(','),
    });
    await server.start();
    const send = (to: readonly Receiver[], name: string, lastsMs: number) =>
      stand.store.outbox.add(
        to.flatMap((receiver) => rowOf.get(receiver)?.(name, lastsMs) ?? []),
        Date.now(),
      );
    const delays = async (name: string) => {
      const before = well.map(({ asked }) => asked.length);
      const fromMs = Date.now();
      await send(well, name, DAY_MS);
      const got = () => well.every(({ asked }, i) => asked.length > (before[i] ?? 0));
      await waitFor('all who are well', got, { withinMs: 60_000, everyMs: 50 });
      return well.map(({ asked }) => (asked.at(-1) ?? fromMs) - fromMs);
    };

    lab.say('nobody is bad');
    await delays('warm');
    const aloneMs = percentile(await delays('alone'), 0.99);
    lab.say('with bad ones beside them');
    // Given up within the experiment: a day is too long to wait for.
    await send(bad, 'bad', 0.8 * badMs);
    await sleep(3 * SECOND_MS);
    const beside: number[] = [];
    const untilMs = Date.now() + badMs;
    for (let round = 0; Date.now() < untilMs; round++) {
      beside.push(...(await delays(`round ${round}`)));
      await sleep(2 * SECOND_MS);
    }
    const besideMs = percentile(beside, 0.99);
    const dead = await waitFor(
      'the bad ones to be given up',
      async () => {
        const [row] = await stand.sql<{ left: number }[]>`
          select count(*)::int as left from outbox where state = 'due'`;
        return row?.left === 0;
      },
      { withinMs: 120_000, everyMs: 500 },
    ).catch(() => false);
    const of = (way: Receiver['way']) => bad.find((one) => one.way === way) as Receiver;
    const busy = of('busy').asked;
    const soonestMs = Math.min(...busy.slice(1).map((atMs, i) => atMs - (busy[i] ?? 0)));
    const attempts = of('broken').asked.length;
    const heldMs = Math.max(...of('hang').heldMs, ...of('slow').heldMs);
    const figures = {
      receivers: many,
      aloneP99S: seconds(aloneMs),
      besideP99S: seconds(besideMs),
      heldS: seconds(heldMs),
      attempts,
      readMb: Math.round(of('huge').writtenBytes() / of('huge').asked.length / 104_857.6) / 10,
      followed: of('loop').followed(),
      busyAgainS: seconds(soonestMs),
      exits: server.exits(),
    };
    return judge(figures, [
      {
        what: `others wait ${seconds(besideMs - aloneMs)} s longer (p99)`,
        isPace: true,
        reached: besideMs - aloneMs <= 1000,
      },
      { what: `a request was held ${figures.heldS} s`, reached: heldMs <= 11_000 },
      { what: 'a redirect was followed', reached: figures.followed === 0 },
      {
        what: `asked again after ${figures.busyAgainS} s, not after the ${BUSY_FOR_S} s asked for`,
        reached: busy.length >= 2 && soonestMs >= BUSY_FOR_S * SECOND_MS,
      },
      {
        what: `${figures.readMb} MB of a reply of 10 MB were taken`,
        reached: of('huge').writtenBytes() / of('huge').asked.length <= READ_AT_MOST_BYTES,
      },
      // Doubling from a second: six times in half a minute at the most, fewer once the way is shut.
      { what: `asked ${attempts} times`, reached: attempts >= 3 && attempts <= 12 },
      { what: 'what could not be told was not given up', reached: dead },
      { what: 'the server ended', reached: figures.exits === 0 },
    ]);
  },
};
