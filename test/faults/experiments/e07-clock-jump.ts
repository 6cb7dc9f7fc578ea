import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { encodeSenmlJson, topicFor } from '@duskline/wire';
import { waitFor } from '@duskline/test-harness';
import { judge, type Experiment } from '../experiment.ts';
import { plainClient } from '../generator/plain-client.ts';
import { intact, openStand, settle } from '../stand.ts';

const clockModule = fileURLToPath(new URL('../nemesis/shifted-clock.mjs', import.meta.url));

/** By how much a node's clock is wrong, as the time it writes when it is really `nowMs`; all have a boot and an uptime. */
const wrongClocks: Readonly<Record<string, (nowMs: number) => number>> = {
  'never set': (nowMs) => 315_532_800_000 + (nowMs % DAY_MS),
  'year 2000': (nowMs) => Date.UTC(2000, 0, 1) + (nowMs % DAY_MS),
  'ten years ahead': (nowMs) => nowMs + 3652 * DAY_MS,
};
const REDATED_WITHIN_MS = 60_000;

/** Node clocks that are wrong in every way, then the server's own, an hour ahead and an hour behind. */
export const clockJump: Experiment = {
  id: 'E7',
  name: 'clock-jump',
  place: 'waits',
  brokers: ['embedded', 'mosquitto'],
  shortBroker: 'mosquitto',
  async run(lab, broker) {
    const clockFile = join(lab.folder, 'clock');
    writeFileSync(clockFile, '0');
    const stand = await openStand(lab, {
      broker,
      nodes: 5,
      env: { NODE_OPTIONS: `--import=${clockModule}`, DUSKLINE_FAULT_CLOCK_FILE: clockFile },
    });
    await stand.server.start();
    const sql = lab.openSql(stand.databaseUrl);
    const fromMs = Date.now();
    let redated = 0;
    let worstMs = 0;
    for (const [i, [what, clock]] of Object.entries(wrongClocks).entries()) {
      const { name, secret, id } = stand.nodes[i] ?? { name: '' as never, secret: '', id: 0 };
      const client = plainClient({ url: stand.mqttUrl, node: name, secret, inFlight: 1 });
      lab.undo(() => client.close());
      // Two readings, 40 s and 10 s old by uptime, and the uptime as it is sent: the way back to real time.
      const nowMs = Date.now();
      const at = (ageS: number) => ({ bt: clock(nowMs - ageS * 1000) / 1000 });
      const payload = encodeSenmlJson([
        { bt: clock(nowMs) / 1000, n: 'boot', u: 'count', v: 1 },
        { n: 'seq', u: 'count', v: 1 },
        { n: 'uptime', u: 's', v: 1000 },
        { ...at(40), n: 'batt_v', u: 'V', v: 12.1 },
        { n: 'uptime', u: 's', v: 960 },
        { ...at(10), n: 'batt_v', u: 'V', v: 12.2 },
        { n: 'uptime', u: 's', v: 990 },
      ]);
      await client.publishAll(1, () => ({
        topic: topicFor(name, 'live'),
        payload: Buffer.from(payload),
      }));
      const rows = await waitFor(
        `the readings of a clock that is ${what}`,
        async () => {
          const found = await sql<{ at: number; value: number }[]>`
            select extract(epoch from observed_at)::float8 * 1000 as at, v as value
            from sample, unnest("values") v where node_id = ${id} and v in (12.1, 12.2) order by v`;
          return found.length === 2 ? found : undefined;
        },
        { withinMs: 15_000 },
      ).catch(() => []);
      rows.forEach(({ at: storedMs, value }) => {
        redated += 1;
        worstMs = Math.max(
          worstMs,
          Math.abs(storedMs - (nowMs - (value === 12.1 ? 40_000 : 10_000))),
        );
      });
    }
    // Good nodes, while the server's own clock jumps about.
    const nodes = stand.startNodes(
      () => [
        {
          boot: 1,
          lane: 'live',
          startMs: fromMs - 10 * DAY_MS,
          stepMs: 1000,
          perMessage: 1,
          ready: 0,
          everyMs: 50,
        },
      ],
      { only: [3, 4] },
    );
    for (const shiftMs of [0, HOUR_MS, 0, -HOUR_MS, 0]) {
      writeFileSync(clockFile, String(shiftMs));
      await sleep(lab.full ? 30_000 : 3500);
    }
    const exits = stand.server.exits();
    const settled = await settle(nodes);
    const verdict = await stand.check(nodes);
    const [impossible] = await sql<{ count: number }[]>`
      select count(*)::float8 as count from sample
      where observed_at < '2020-01-01Z' or observed_at > now() + interval '24 hours'`;
    const clocks = Object.keys(wrongClocks).length;
    return judge(
      {
        clocks,
        redated,
        worstRedatedMs: Math.round(worstMs),
        impossible: impossible?.count ?? -1,
        ...verdict,
        exits,
      },
      [
        ...intact(verdict, settled),
        {
          what: `${impossible?.count} readings under an impossible time`,
          reached: impossible?.count === 0,
        },
        {
          what: `${redated} of ${2 * clocks} readings of wrong clocks were dated`,
          reached: redated === 2 * clocks,
        },
        { what: `dated wrongly by ${worstMs} ms`, reached: worstMs <= REDATED_WITHIN_MS },
        { what: `the server ended ${exits} times`, reached: exits === 0 },
      ],
    );
  },
};
