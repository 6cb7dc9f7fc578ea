import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type FieldNode,
  type Outlook,
  type SiteId,
} from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import {
  createExampleNode,
  exampleMessage,
  examplePower,
  exampleSample,
  exampleSite,
} from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
let store: Store;
let sql: postgres.Sql;
beforeAll(() => openTestStore((opened) => ({ store, sql } = opened)));

const designOf = ({ id: _id, ...design }: FieldNode): Omit<FieldNode, 'id'> => design;

const fanLength = 56;
const fan = Array.from({ length: fanLength }, (_, index) => 0.9 - index / 100);
const outlook: Outlook = {
  kind: 'beyond-horizon',
  issuedAtMs: startMs,
  horizonDays: 30,
  model: 'test',
  seed: 3,
  darkWithin3DaysProbability: 0,
  darkWithin7DaysProbability: 0,
  darkWithin14DaysProbability: 0.05,
  fan: { startMs, stepMs: 6 * HOUR_MS, p10: fan, p50: fan, p90: fan },
  drivers: {
    harvestWhPerDay: 8,
    loadWhPerDay: 6,
    reserveWh: 100,
    noSunReserveDays: 16,
    harvestRatio: 0.6,
    historyDays: 60,
  },
};
const charge = {
  ratio: 0.8,
  lowRatio: 0.75,
  highRatio: 0.85,
  method: 'rest-voltage',
  observedAtMs: startMs + 5 * MINUTE_MS,
} as const;

async function lookedAt(id: string) {
  const node = await createExampleNode(store, id);
  const { newsVersion } = await store.nodes.facts(node.id);
  await store.commitAdvance({
    nodeId: node.id,
    newsVersion,
    verdict: {
      state: 'up',
      sinceMs: startMs,
      cause: 'Heard lately.',
      settledBy: 'x',
      evidence: [],
    },
    charge,
    outlooks: [{ outlook, hindcast: false }],
    alertChanges: [],
    memory: [],
    nextCheckAtMs: startMs + HOUR_MS,
    nowMs: startMs,
  });
  return node;
}

describe('the view of a site', () => {
  it('has all that a row is made from, by name, and a site without a node too', async () => {
    await store.sites.create(exampleSite('ling-ridge', 'Ling Ridge'));
    const node = await lookedAt('cold-spout');
    const views = await store.views.fleet();
    expect(views.map((view) => view.site.name)).toEqual(['Ling Ridge', 'cold-spout']);
    expect(views[0]).toEqual({
      site: exampleSite('ling-ridge', 'Ling Ridge'),
      version: 0,
      alerts: [],
    });
    expect(views[1]).toEqual({
      site: exampleSite('cold-spout', 'cold-spout'),
      node,
      version: 1,
      verdict: {
        state: 'up',
        sinceMs: startMs,
        cause: 'Heard lately.',
        settledBy: 'x',
        evidence: [],
      },
      charge,
      outlook,
      alerts: [],
    });
    expect(await store.views.site(node.siteId)).toEqual(views[1]);
    expect(await store.views.ofNode(node.id)).toEqual(views[1]);
    expect(await store.views.site('nowhere' as SiteId)).toBeUndefined();
  });

  it('shows the node that is in service, not the one it replaced', async () => {
    const old = await createExampleNode(store, 'fell-foot');
    const design = designOf(old);
    const retired = await store.nodes.create(
      {
        ...design,
        name: 'fell-foot-2' as typeof old.name,
        commissionedAtMs: startMs,
        retiredAtMs: startMs,
      },
      new Uint8Array(1),
    );
    expect(retired.retiredAtMs).toBe(startMs);
    expect((await store.views.site(old.siteId))?.node?.name).toBe('fell-foot');
    const next = await store.nodes.create(
      { ...design, name: 'fell-foot-3' as typeof old.name, commissionedAtMs: startMs },
      new Uint8Array(1),
    );
    expect((await store.views.site(old.siteId))?.node).toEqual(next);
  });
});

describe('the week of every site', () => {
  it('is the gauge by the hour, and where there is none the estimate', async () => {
    const gauged = await createExampleNode(store, 'heron-pool');
    const estimated = await lookedAt('slack-bottom');
    await store.samples.accept([
      exampleMessage('heron-pool', {
        receivedAtMs: startMs,
        samples: [
          exampleSample(startMs, { charge: 40 }),
          exampleSample(startMs + MINUTE_MS, { charge: 50 }),
          exampleSample(startMs + 2 * HOUR_MS, { charge: 61 }),
        ],
      }),
    ]);
    await store.rollups.refresh(gauged.id);
    const traces = await store.views.weekTraces(startMs - HOUR_MS + 1, startMs + 3 * HOUR_MS);
    const [someSite] = traces.keys();
    if (someSite === undefined) throw new Error('There is no trace.');
    const one = await store.views.weekTraces(startMs - HOUR_MS + 1, startMs + 3 * HOUR_MS, [
      someSite,
    ]);
    expect(one).toEqual(new Map([[someSite, traces.get(someSite)]]));
    expect(traces.get(gauged.siteId)).toEqual([null, 0.45, null, 0.61]);
    expect(traces.get(estimated.siteId)).toEqual([null, 0.8, null, null]);
  });
});

describe('the days of a site', () => {
  it('are the energies of its solar days: an hour’s mean power times one hour', async () => {
    // Solar midnight at 45° east is 21:00 UTC.
    const node = await createExampleNode(store, 'marl-beck', { longitudeDeg: 45 });
    const dayStartMs = Date.UTC(2026, 5, 1, 21);
    const at = (hour: number, panel_w: number, load_w: number) =>
      exampleSample(dayStartMs + hour * HOUR_MS + MINUTE_MS, { panel_w, load_w });
    await store.samples.accept([
      exampleMessage('marl-beck', {
        receivedAtMs: startMs,
        samples: [
          at(-1, 100, 100),
          at(0, 0, 2),
          at(8, 10, 2),
          exampleSample(dayStartMs + 8.5 * HOUR_MS, { panel_w: 20, load_w: 4 }),
          at(23, 0, 2),
          exampleSample(dayStartMs + 24 * HOUR_MS, { batt_v: 12 }),
        ],
      }),
    ]);
    await store.rollups.refresh(node.id);
    expect(await store.views.days(node.siteId, dayStartMs, dayStartMs + 2 * DAY_MS)).toEqual([
      { dayStartMs, harvestWh: 15, loadWh: 7, hoursHeard: 3 },
      { dayStartMs: dayStartMs + DAY_MS, hoursHeard: 1 },
    ]);
  });
});

describe('a day with silence in it', () => {
  it('counts of an hour only the part that was heard: of 12 W for a quarter of it 3 Wh, not 12', async () => {
    const node = await createExampleNode(store, 'fell-end', { longitudeDeg: 45 });
    const dayStartMs = Date.UTC(2026, 5, 1, 21);
    // Every quarter of an hour from 10:45 to 13:30, at 12 W: three hours.
    const quarters = Array.from({ length: 12 }, (_, i) => 10.75 + i / 4);
    await store.samples.accept([
      exampleMessage('fell-end', {
        receivedAtMs: startMs,
        samples: quarters.map((hour) =>
          exampleSample(dayStartMs + hour * HOUR_MS, { panel_w: 12, load_w: 4 }),
        ),
      }),
    ]);
    await store.rollups.refresh(node.id);
    // 10 h: one of four; 11 and 12 h: whole; 13 h: three of four.
    expect(await store.views.days(node.siteId, dayStartMs, dayStartMs + DAY_MS)).toEqual([
      { dayStartMs, harvestWh: 12 * 3, loadWh: 4 * 3, hoursHeard: 3 },
    ]);
  });

  it('takes one reading fewer in the midst of others for chance', async () => {
    const node = await createExampleNode(store, 'otter-holm', { longitudeDeg: 45 });
    const dayStartMs = Date.UTC(2026, 5, 1, 21);
    // Every fourteen minutes: of these six hours four have four readings, two have five, and the last is cut short.
    const samples = Array.from({ length: 24 }, (_, i) =>
      exampleSample(dayStartMs + 6 * HOUR_MS + i * 14 * MINUTE_MS, { panel_w: 10 }),
    );
    await store.samples.accept([exampleMessage('otter-holm', { receivedAtMs: startMs, samples })]);
    await store.rollups.refresh(node.id);
    const [day] = await store.views.days(node.siteId, dayStartMs, dayStartMs + DAY_MS);
    expect(day?.hoursHeard).toBeCloseTo(5 + 2 / 4, 1);
  });
});

describe('a fleet of 1,000', () => {
  it('is read in three statements (the time is printed, not judged)', async () => {
    await sql`
      insert into site select 'fleet-' || n, 'Fleet ' || n, 54, -2, 100, 'Europe/London', '', ''
      from generate_series(1, 1000) n`;
    await sql`
      insert into node (name, site_id, secret_hash, power, commissioned_at)
      select 'fleet-' || n, 'fleet-' || n, '', ${sql.json(examplePower as never)}, now()
      from generate_series(1, 1000) n`;
    await sql`insert into node_pulse (node_id, last_heard_at) select id, now() from node where name ~ '^fleet-'`;
    await sql`
      insert into node_interval (node_id, from_at, state, cause, evidence)
      select id, now(), 'up', 'Heard lately.', '[]' from node where name ~ '^fleet-'`;
    const { fan: drawn, ...body } = outlook;
    await sql`
      insert into outlook (node_id, issued_at, hindcast, dark, kind, horizon_days, model, body, fan)
      select id, now() - hour * interval '1 hour', false, false, 'beyond-horizon', 30, 'test',
        ${sql.json(body as never)}, ${sql.json(drawn as never)}
      from node cross join generate_series(1, 24) hour where name ~ '^fleet-'`;
    await sql`
      insert into charge_day (node_id, day_start, hours, news_version)
      select node.id, day, array_fill(5000::smallint, array[24]), 1
      from node
      cross join generate_series(date_bin('1 day', now(), 'epoch') - interval '7 days', now(), '1 day') day
      where name ~ '^fleet-'`;
    await sql`analyze`;
    const times: Record<string, number[]> = { fleet: [], weekTraces: [] };
    for (let run = 0; run < 7; run += 1) {
      const begunMs = performance.now();
      const views = await store.views.fleet();
      const viewedMs = performance.now();
      const traces = await store.views.weekTraces(Date.now() - 7 * DAY_MS, Date.now());
      times['fleet']?.push(viewedMs - begunMs);
      times['weekTraces']?.push(performance.now() - viewedMs);
      expect(views.filter((view) => view.site.name.startsWith('Fleet ')).length).toBe(1000);
      expect(
        traces.get('fleet-7' as SiteId)?.filter((ratio) => ratio === 0.5).length,
      ).toBeGreaterThan(166);
    }
    for (const [name, each] of Object.entries(times))
      console.log(`${name}, 1,000 nodes: median ${each.sort((a, b) => a - b)[3]?.toFixed(0)} ms`);
  });
});
