import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  testMask,
  type FieldNode,
  type MetricKey,
  type QualityFlag,
  type Sample,
} from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import type { QualityCheck } from './quality-check.ts';
import type { Store } from './store.ts';
import {
  createExampleNode,
  exampleMessage,
  exampleSample,
  randomFrom,
  shuffled,
} from './testing/example-fleet.ts';

/**
 * A rule of the test's own, with the reach of a real one, written twice: once as the check that the store is handed, once
 * over all samples at the end. Voltages over 14 fail, one that stands 0.4 from the mean of its neighbours within six
 * minutes is suspect, and so is a temperature that stood still over two hours.
 */
const SPIKE_GAP_MS = 6 * MINUTE_MS;
const STILL_MS = 2 * HOUR_MS;
const check: QualityCheck = {
  reachMs: STILL_MS,
  gapMs: SPIKE_GAP_MS,
  check: (samples) =>
    samples.map((sample, i) => {
      const flags = sample.metrics.map((metric): QualityFlag => {
        const at = (j: number, key: MetricKey) =>
          samples[j]?.values[samples[j]?.metrics.indexOf(key) ?? -1];
        const value = at(i, metric) ?? 0;
        if (sample.timeQuality === 'unsure') return 3;
        if (metric === 'batt_v') {
          if (value > 14) return 4;
          const [before, after] = [samples[i - 1], samples[i + 1]];
          if (before === undefined || after === undefined) return 2;
          const near = (ms: number) => Math.abs(ms - sample.observedAtMs) <= SPIKE_GAP_MS;
          if (!near(before.observedAtMs) || !near(after.observedAtMs)) return 2;
          const middle = ((at(i - 1, 'batt_v') ?? 0) + (at(i + 1, 'batt_v') ?? 0)) / 2;
          return Math.abs(value - middle) > 0.4 ? 3 : 1;
        }
        if (metric !== 'air_temp') return 1;
        let first = i;
        while (
          first > 0 &&
          (samples[first - 1]?.observedAtMs ?? 0) >= sample.observedAtMs - STILL_MS &&
          at(first - 1, 'air_temp') === value
        )
          first -= 1;
        const stoodMs = sample.observedAtMs - (samples[first]?.observedAtMs ?? 0);
        return stoodMs > STILL_MS - 10 * MINUTE_MS ? 3 : 1;
      });
      return {
        sample,
        flags,
        tests: flags.map((flag) => (flag >= 3 ? testMask(['spike']) : 0)),
      };
    }),
};

const startMs = Date.UTC(2026, 9, 24, 20);
const endMs = startMs + 3 * DAY_MS;
let store: Store;
let otherServer: Store;
let sql: postgres.Sql;

beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store, sql } = opened);
    otherServer = await opened.openAnother();
  }),
);

function pastOf(random: () => number): Sample[] {
  let airC = 8;
  return Array.from({ length: 860 }, (_, index) => {
    if (random() < 0.03 || index % 97 === 0) airC += random() - 0.5;
    const volts = 12.6 + 0.3 * random() + (random() < 0.02 ? 0.8 : 0) + (random() < 0.01 ? 2 : 0);
    const sample = exampleSample(startMs + index * 5 * MINUTE_MS, {
      batt_v: volts,
      air_temp: airC,
      wind_dir: 360 * random(),
      rain: random() < 0.1 ? 0.2 : 0,
      charge: 40 + 20 * random(),
    });
    return random() < 0.01 ? { ...sample, timeQuality: 'unsure' as const } : sample;
  });
}

interface Expected {
  readonly atMs: number;
  readonly value: number;
  readonly flag: number;
}

/** Flags by looking at the whole series at once, and rollups by a loop. */
function recompute(samples: readonly Sample[], metric: MetricKey): Expected[] {
  return samples
    .filter(({ timeQuality }) => timeQuality !== 'unsure')
    .map(({ observedAtMs, metrics, values }) => {
      const value = values[metrics.indexOf(metric)] ?? NaN;
      return { atMs: observedAtMs, value, flag: 1 };
    });
}

function recomputeWithFlags(samples: readonly Sample[], metric: MetricKey): Expected[] {
  const valueOf = (sample: Sample | undefined) =>
    sample?.values[sample.metrics.indexOf(metric)] ?? NaN;
  return samples.flatMap((sample, i) => {
    if (sample.timeQuality === 'unsure') return [];
    const value = valueOf(sample);
    const plain = { atMs: sample.observedAtMs, value, flag: 1 };
    if (metric === 'batt_v') {
      if (value > 14) return [{ ...plain, flag: 4 }];
      const hasBoth = i > 0 && i < samples.length - 1;
      const middle = (valueOf(samples[i - 1]) + valueOf(samples[i + 1])) / 2;
      return [{ ...plain, flag: hasBoth && Math.abs(value - middle) > 0.4 ? 3 : 1 }];
    }
    if (metric === 'air_temp') {
      // 24 steps of five minutes are two hours; all but the last two must be as long.
      const window = samples.slice(Math.max(0, i - 23), i + 1);
      const still = window.length === 24 && window.every((one) => valueOf(one) === value);
      return [{ ...plain, flag: still ? 3 : 1 }];
    }
    return [plain];
  });
}

function rollUp(readings: readonly Expected[], lengthMs: number, offsetMs: number) {
  const groups = new Map<number, Expected[]>();
  for (const reading of readings) {
    const start = Math.floor((reading.atMs - offsetMs) / lengthMs) * lengthMs + offsetMs;
    groups.set(start, [...(groups.get(start) ?? []), reading]);
  }
  return [...groups]
    .sort(([a], [b]) => a - b)
    .map(([start, group]) => {
      const sums = new Map<number, number>();
      for (const { atMs, value } of group) {
        const hour = Math.floor(atMs / HOUR_MS);
        sums.set(hour, (sums.get(hour) ?? 0) + value);
      }
      return {
        startMs: start,
        count: group.length,
        // Hours are summed first, days from hours: the last bit depends on it.
        sum: [...sums.values()].reduce((total, value) => total + value),
        min: Math.min(...group.map(({ value }) => value)),
        max: Math.max(...group.map(({ value }) => value)),
        last: group.at(-1)?.value,
      };
    });
}

const METRICS = ['batt_v', 'air_temp', 'wind_dir', 'rain', 'charge'] as const;
const range = { fromMs: startMs - 2 * DAY_MS, toMs: endMs + 2 * DAY_MS };

async function expectAsRecomputed(node: FieldNode, samples: readonly Sample[]): Promise<void> {
  const flagged = { 3: 0, 4: 0 };
  for (const metric of METRICS) {
    const expected = recomputeWithFlags(samples, metric);
    const found = await store.readings.list(
      node.id,
      metric,
      { ...range, limit: 10_000 },
      { flags: [1, 2, 3, 4], unsureTimes: false },
    );
    // 1 and 2 are both kept as nothing.
    expect(
      found.map(({ atMs, value, flag }) => ({ atMs, value, flag: flag === 2 ? 1 : flag })),
    ).toEqual(expected);
    const newest = await store.readings.list(
      node.id,
      metric,
      { ...range, limit: 3, newestFirst: true },
      { flags: [1, 2, 3, 4], unsureTimes: false },
    );
    expect(newest.map(({ atMs, value }) => [atMs, value])).toEqual(
      expected
        .slice(-3)
        .reverse()
        .map(({ atMs, value }) => [atMs, value]),
    );
    for (const { flag } of expected) if (flag === 3 || flag === 4) flagged[flag] += 1;
    for (const [grain, lengthMs] of [
      ['hour', HOUR_MS],
      ['day', DAY_MS],
    ] as const)
      for (const quality of [1, 3, 4] as const) {
        const rollups = await store.rollups.series(node.id, metric, {
          ...range,
          grain,
          quality: [quality],
        });
        const wanted = rollUp(
          expected.filter(({ flag }) => flag === quality),
          lengthMs,
          0,
        );
        expect(rollups.map(({ metric: _, vector: _vector, ...rest }) => rest)).toEqual(wanted);
      }
  }
  expect(flagged[3]).toBeGreaterThan(30);
  expect(flagged[4]).toBeGreaterThan(3);

  const latest = await store.latest.of(node.id);
  const sure = samples.filter(({ timeQuality }) => timeQuality !== 'unsure').at(-1);
  expect(Object.fromEntries(latest.map(({ metric, value }) => [metric, value]))).toEqual(
    Object.fromEntries(sure?.metrics.map((metric, i) => [metric, sure.values[i]]) ?? []),
  );
  for (const { observedAtMs } of latest) expect(observedAtMs).toBe(sure?.observedAtMs);
}

async function expectMeanDirections(node: FieldNode, samples: readonly Sample[]): Promise<void> {
  const hours = await store.rollups.series(node.id, 'wind_dir', { ...range, grain: 'hour' });
  const [hour] = hours;
  const degrees = recompute(samples, 'wind_dir')
    .filter(({ atMs }) => Math.floor(atMs / HOUR_MS) * HOUR_MS === hour?.startMs)
    .map(({ value }) => (value * Math.PI) / 180);
  const total = (of: (angle: number) => number) =>
    degrees.reduce((sum, angle) => sum + of(angle), 0);
  expect(hour?.vector?.east).toBeCloseTo(total(Math.sin), 9);
  expect(hour?.vector?.north).toBeCloseTo(total(Math.cos), 9);
}

describe('flags, rollups by quality and latest values', () => {
  it.each([11, 12, 13, 14])(
    'equal a plain recomputation after any order of arrival, with repeats, late data and two servers (seed %i)',
    async (seed) => {
      const id = `tarn-gill-${seed}`;
      const node = await createExampleNode(store, id);
      const random = randomFrom(seed);
      const samples = pastOf(random);
      // Half comes as packs of a stretch, in any order of packs; half singly shuffled; some of all of it twice.
      const packs: Sample[][] = [];
      for (let i = 0; i < samples.length / 2; i += 40) packs.push(samples.slice(i, i + 40));
      const scattered = shuffled(samples.slice(packs.length * 40), random);
      while (scattered.length > 0) packs.push(scattered.splice(0, 25));
      const deliveries = shuffled([...packs, ...packs.slice(0, 6)], random);
      const servers = [store, otherServer];
      let next = 0;
      const work = async (server: Store) => {
        for (let pack = deliveries[next++]; pack !== undefined; pack = deliveries[next++]) {
          await server.samples.accept([
            exampleMessage(id, { receivedAtMs: endMs, lane: 'backlog', samples: pack }),
          ]);
          await server.rollups.refresh(node.id, () => Promise.resolve(check));
        }
      };
      await Promise.all(servers.map(work));
      await store.rollups.refresh(node.id, () => Promise.resolve(check));
      expect(await sql`select from stale_hour where node_id = ${node.id}`).toHaveLength(0);
      await expectAsRecomputed(node, samples);
      await expectMeanDirections(node, samples);
    },
  );

  it('change nothing when nothing changed', async () => {
    const [before] = await sql`select sum(xmin::text::bigint) as sum, count(*) from sample_note`;
    const [node] = await store.nodes.list();
    await sql`
      insert into stale_hour
      select distinct node_id, hour_start, news_version from rollup_hour where node_id = ${node?.id ?? 0}
      on conflict do nothing`;
    await store.rollups.refresh(node?.id as FieldNode['id'], () => Promise.resolve(check));
    const [after] = await sql`select sum(xmin::text::bigint) as sum, count(*) from sample_note`;
    expect(Number(before?.['count'])).toBeGreaterThan(50);
    expect(after).toEqual(before);
  });

  it('say which test found fault, list the unsure apart, and lose nothing', async () => {
    const [node] = await store.nodes.list();
    const list = (flags: readonly QualityFlag[], unsureTimes = false) =>
      store.readings.list(
        node?.id as FieldNode['id'],
        'batt_v',
        { ...range, limit: 10_000 },
        {
          flags,
          unsureTimes,
        },
      );
    const failed = await list([4]);
    expect(failed.length).toBeGreaterThan(0);
    for (const { value, tests } of failed) {
      expect(value).toBeGreaterThan(14);
      expect(tests).toEqual(['spike']);
    }
    const all = await list([1, 2, 3, 4]);
    const unsure = await list([1, 2, 3, 4], true);
    expect(unsure.map(({ timeQuality, flag }) => [timeQuality, flag])).toEqual(
      unsure.map(() => ['unsure', 3]),
    );
    expect(all.length + unsure.length).toBe(860);
  });
});

describe('limits that people set', () => {
  it('are of the site, then of the node, and have every hour tested again', async () => {
    const node = await createExampleNode(store, 'otter-stones');
    await store.samples.accept([
      exampleMessage('otter-stones', {
        receivedAtMs: startMs,
        samples: [
          exampleSample(startMs, { batt_v: 12 }),
          exampleSample(startMs + 5 * HOUR_MS, { batt_v: 12 }),
        ],
      }),
    ]);
    await store.rollups.refresh(node.id);
    expect(await store.qualityLimits.inForce(node.id)).toEqual([]);
    const ofNode = { metrics: { batt_v: { failSpan: [10, 15] as const } } };
    const ofSite = { cross: { chargeJumpPct: 20 } };
    const set = { setBy: 'Ines', setAtMs: startMs };
    await store.qualityLimits.set({ kind: 'node', name: node.name }, { limits: ofNode, ...set });
    await store.qualityLimits.set({ kind: 'site', name: node.siteId }, { limits: ofSite, ...set });
    expect(await store.qualityLimits.inForce(node.id)).toEqual([
      { limits: ofSite },
      { limits: ofNode },
    ]);
    expect(await store.qualityLimits.find({ kind: 'node', name: node.name })).toEqual({
      limits: ofNode,
      ...set,
    });
    expect(await store.rollups.refresh(node.id)).toBe(2);
    expect((await store.nodes.due(startMs - DAY_MS, 100)).includes(node.id)).toBe(true);
  });
});
