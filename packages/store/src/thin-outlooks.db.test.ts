import { DAY_MS, HOUR_MS, type NodeId, type Outlook } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, beforeEach, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const nowMs = Date.UTC(2026, 10, 26, 12);
const oldMs = Date.UTC(2026, 5, 1);
let store: Store;
let sql: postgres.Sql;
let node: NodeId;
let made = 0;
beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));
beforeEach(async () => {
  await sql`truncate outlook, outlook_input, outlook_score, history_day, learnt_state`;
  node = (await createExampleNode(store, `tarn-gill-${made++}`)).id;
});

const outlook = (issuedAtMs: number): Outlook => ({
  kind: 'insufficient-data',
  issuedAtMs,
  horizonDays: 30,
  model: 'test',
  seed: 1,
  missing: 'days',
  have: 0,
  need: 3,
});

/** Made of two days of which the first is the same for all of one day, the second its own. */
async function keep(issuedAtMs: number, { hindcast = false, graded = true } = {}) {
  const startMs = Math.floor(issuedAtMs / DAY_MS) * DAY_MS - DAY_MS;
  const series = (value: number) => [...Array<number>(24).fill(startMs), value];
  const history = {
    startMs,
    panelW: series(issuedAtMs),
    loadW: series(1),
    chargeRatio: series(0.5),
    batteryV: series(13),
    batteryA: series(0),
    batteryC: series(9),
    airC: series(8),
  };
  await sql`insert into learnt_state values (${node}, ${new Date(issuedAtMs)}, '{}') on conflict do nothing`;
  await store.outlooks.keepHindcasts(node, [
    {
      outlook: outlook(issuedAtMs),
      hindcast,
      inputs: {
        history,
        learntAtMs: issuedAtMs,
        facts: { nowMs: issuedAtMs, seed: 1, position: {}, power: {} } as never,
      },
      score: {
        of: 'empty',
        dueAtMs: issuedAtMs + 7 * DAY_MS,
        horizonDays: 30,
        days: [2, 5],
        rawChance7: 0.6,
        chance7: 0.5,
        baselines: {},
      },
    },
  ]);
  if (graded)
    await sql`update outlook_score set due_at = null, outcome = 'unknown' where node_id = ${node} and issued_at = ${new Date(issuedAtMs)}`;
}
const count = async (table: string) =>
  (await sql<{ n: number }[]>`select count(*)::int as n from ${sql(table)}`)[0]?.n;
const left = async () =>
  (
    await sql<{ at: Date; hindcast: boolean }[]>`
      select issued_at as at, hindcast from outlook order by issued_at, hindcast`
  ).map(({ at, hindcast }) => `${at.toISOString().slice(5, 16)}${hindcast ? ' hindcast' : ''}`);

it('keeps of each old day the first outlook, and every one of the last ninety days', async () => {
  for (const hour of [0, 1, 13, 23, 24, 30]) await keep(oldMs + hour * HOUR_MS);
  await keep(oldMs + 2 * HOUR_MS, { hindcast: true });
  for (const hour of [-3, -2, -1]) await keep(nowMs + hour * HOUR_MS);
  const { outlooks } = await store.housekeeping.forget(nowMs);
  expect(outlooks).toBe(4);
  expect(await left()).toEqual([
    '06-01T00:00',
    '06-01T02:00 hindcast',
    '06-02T00:00',
    '11-26T09:00',
    '11-26T10:00',
    '11-26T11:00',
  ]);
  expect((await store.housekeeping.forget(nowMs)).outlooks).toBe(0);
});

it('lets go of what only the thinned ones were made of, and can still make the others again', async () => {
  for (const hour of [0, 1, 2]) await keep(oldMs + hour * HOUR_MS);
  await keep(nowMs - HOUR_MS);
  // A whole day that three share, and an hour of each of the four; and the day of the newest.
  expect(await count('history_day')).toBe(6);
  await store.housekeeping.forget(nowMs);
  expect(await count('outlook_input')).toBe(2);
  expect(await count('outlook_score')).toBe(2);
  expect(await count('history_day')).toBe(4);
  expect(await count('learnt_state')).toBe(2);
  const inputs = await store.outlooks.inputs(node, { issuedAtMs: oldMs, hindcast: false });
  expect(inputs?.history.panelW.at(-1)).toBe(oldMs);
});

it('keeps what waits to be graded, and the newest of a node that fell silent', async () => {
  await keep(oldMs);
  await keep(oldMs + HOUR_MS, { graded: false });
  await keep(oldMs + 2 * HOUR_MS);
  expect((await store.housekeeping.forget(nowMs)).outlooks).toBe(0);
  await sql`update outlook_score set due_at = null, outcome = 'unknown'`;
  expect((await store.housekeeping.forget(nowMs)).outlooks).toBe(1);
  expect(await left()).toEqual(['06-01T00:00', '06-01T02:00']);
});
