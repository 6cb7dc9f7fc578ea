import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { encodeMessage, topicFor } from '@duskline/wire';
import { beforeAll, describe, expect, it } from 'vitest';
import { createTestNode } from './testing-node.ts';
import { createTestPipeline } from './testing-pipeline.ts';

/** The hour in which summer time ends in Europe, 2026: 01:00 UTC on 25 October. */
const startMs = Date.UTC(2026, 9, 25, 3);
let store: Store;
let nowMs = startMs;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const pipelineOf = () => createTestPipeline(store, () => nowMs);

const makeNode = (name: string) =>
  createTestNode(store, name, nowMs - 30 * DAY_MS, { usualGapS: 600 });

interface Record {
  readonly n: string;
  readonly t?: number;
  readonly u?: string;
  readonly v?: number;
  readonly vs?: string;
}

/** A pack as a node writes it by hand, with times of its own clock in seconds. */
async function send(
  node: FieldNode,
  records: readonly Record[],
  lane: 'live' | 'backlog' = 'live',
) {
  const { receive, idle, advance } = pipelineOf();
  await receive({
    topic: topicFor(node.name, lane),
    payload: new TextEncoder().encode(JSON.stringify(records)),
    receivedAtMs: nowMs,
  });
  await idle();
  await advance(node.id);
}
const volts = (t: number, v = 12.6): Record => ({ n: 'batt_v', u: 'V', v, t });
const uptime = (v: number, t?: number): Record => ({
  n: 'uptime',
  u: 's',
  v,
  ...(t === undefined ? {} : { t }),
});

const wide = { fromMs: 0, toMs: Date.UTC(2100, 0, 1) - 1, limit: 10_000 };
const list = (node: FieldNode, { unsureTimes = false } = {}) =>
  store.readings.list(node.id, 'batt_v', wide, { flags: [1, 2, 3, 4], unsureTimes });
const hoursOf = (node: FieldNode) =>
  store.rollups.series(node.id, 'batt_v', { ...wide, grain: 'hour', quality: [1, 3, 4] });
const faultsOf = async (node: FieldNode) =>
  (await store.quarantine.recent(100))
    .filter((entry) => entry.node === node.name)
    .map((entry) => entry.fault.code);

// What must happen to wrong clocks: reliability plan, experiment E7.
describe('a clock that is wrong', () => {
  it.each([
    ['1970', 400, 'time-impossible'],
    ['2000', Date.UTC(2000, 0, 1) / 1000, 'time-impossible'],
    ['ten years ahead', startMs / 1000 + 3650 * 86_400, 'time-in-future'],
    ['a day and a second ahead', startMs / 1000 + 86_401, 'time-in-future'],
  ])('reaches no plot: %s goes to quarantine', async (name, seconds, code) => {
    nowMs = startMs;
    const node = await makeNode(`clock-${name.replaceAll(' ', '-')}`);
    // 1970 as an absolute time: below 2^28 it would be a relative one.
    await send(node, [volts(seconds < 2 ** 28 ? 2 ** 28 + seconds : seconds)]);
    expect(await faultsOf(node)).toEqual([code]);
    expect(await list(node)).toEqual([]);
    expect(await list(node, { unsureTimes: true })).toEqual([]);
    expect(await hoursOf(node)).toEqual([]);
  });

  it('is put right from boot and uptime within a minute, and what the node said is kept', async () => {
    nowMs = startMs;
    const node = await makeNode('put-right');
    const wrongS = Date.UTC(2000, 0, 1) / 1000;
    // Sent 30 s before it was received, up for 4,000 s; the readings are of 400 s and 1,000 s after the boot.
    const sent = [
      uptime(4000, 0),
      volts(wrongS),
      uptime(400, wrongS),
      volts(wrongS + 600, 12.5),
      uptime(1000, wrongS + 600),
    ];
    const trueMs = [400, 1000].map((up) => startMs - (4030 - up) * 1000);
    await send(node, sent, 'backlog');
    const readings = await list(node);
    expect(readings.map(({ timeQuality }) => timeQuality)).toEqual(['re-dated', 're-dated']);
    expect(readings.map(({ saidTimeS }) => saidTimeS)).toEqual([wrongS, wrongS + 600]);
    expect(readings.map(({ receivedAtMs }) => receivedAtMs)).toEqual([startMs, startMs]);
    readings.forEach(({ atMs }, i) =>
      expect(Math.abs(atMs - (trueMs[i] ?? 0))).toBeLessThanOrEqual(60_000),
    );
  });

  it('ahead by an hour is unsure: suspect, off the axis, and never the latest value', async () => {
    nowMs = startMs;
    const node = await makeNode('summer-time');
    await send(node, [volts(startMs / 1000 - 60, 12.9)]);
    // Local time of summer sent for UTC.
    await send(node, [volts(startMs / 1000 + 3600, 11.1)]);
    expect((await list(node)).map(({ value }) => value)).toEqual([12.9]);
    expect(await list(node, { unsureTimes: true })).toMatchObject([
      { value: 11.1, timeQuality: 'unsure', flag: 3, tests: ['unsure-time'] },
    ]);
    expect((await hoursOf(node)).map(({ count, sum }) => [count, sum])).toEqual([[1, 12.9]]);
    expect(await store.latest.of(node.id)).toMatchObject([{ metric: 'batt_v', value: 12.9 }]);
    const { lastObservedAtMs } = await store.nodes.facts(node.id);
    expect(lastObservedAtMs).toBe(startMs - 60_000);
    // What comes an hour later, rightly dated, is the latest.
    nowMs += 2 * MINUTE_MS;
    await send(node, [volts(nowMs / 1000, 12.8)]);
    expect(await store.latest.of(node.id)).toMatchObject([{ value: 12.8 }]);
  });

  it('and the night in which summer time ends: every hour once, every reading in its own', async () => {
    nowMs = startMs;
    const node = await makeNode('long-night');
    const records = Array.from({ length: 36 }, (_, i) =>
      volts((startMs - 6 * HOUR_MS + i * 10 * MINUTE_MS) / 1000, 12 + (i % 7) / 10),
    );
    await send(node, records, 'backlog');
    expect(
      (await hoursOf(node)).map(({ startMs: atMs, count }) => [(atMs - startMs) / HOUR_MS, count]),
    ).toEqual([-6, -5, -4, -3, -2, -1].map((hour) => [hour, 6]));
  });
});

const isDay = (atMs: number) => Math.abs(((atMs / HOUR_MS) % 24) - 12) < 4;

describe('late readings', () => {
  const sample = (observedAtMs: number, chargePct: number) => ({
    observedAtMs,
    metrics: ['batt_v', 'charge', 'load_w', 'panel_w'] as const,
    // Panel and load are well: a fault that lasts, or a forecast from such days, would rightly be raised.
    values: [chargePct < 20 ? 12 : 13.2, chargePct, 0.5, isDay(observedAtMs) ? 8 : 0],
  });
  const tell = async (
    node: FieldNode,
    {
      lane,
      seq,
      samples,
    }: { lane: 'live' | 'backlog'; seq: number; samples: ReturnType<typeof sample>[] },
  ) => {
    const { receive, idle, advance } = pipelineOf();
    await receive({
      topic: topicFor(node.name, lane),
      payload: encodeMessage({ node: node.name, place: { boot: 1, seq }, samples }),
      receivedAtMs: nowMs,
    });
    await idle();
    await advance(node.id);
  };

  it('of an empty battery raise nothing about a node that is well', async () => {
    nowMs = startMs;
    const node = await makeNode('well-today');
    let seq = 0;
    const raised: string[] = [];
    for (let minute = 0; minute <= 180; minute += 10) {
      nowMs = startMs + minute * MINUTE_MS;
      await tell(node, { lane: 'live', seq: ++seq, samples: [sample(nowMs, 80)] });
      // Between two live messages a day of its past, in which it was nearly empty and went dark.
      const dayMs = startMs - (20 - minute / 10) * DAY_MS;
      const past = Array.from({ length: 48 }, (_, i) =>
        sample(dayMs + i * 10 * MINUTE_MS, Math.max(2, 18 - i)),
      );
      await tell(node, { lane: 'backlog', seq: ++seq, samples: past });
      raised.push(...(await store.alerts.open(node.id)).map(({ rule }) => rule));
    }
    expect(raised).toEqual([]);
    expect((await store.views.ofNode(node.id))?.verdict?.state).toBe('up');
    expect((await store.alerts.listOpen()).filter(({ siteId }) => siteId === node.siteId)).toEqual(
      [],
    );
  });

  it('that make a hole whole are tested then: a spike beside a hole becomes one', async () => {
    nowMs = startMs;
    const node = await makeNode('hole-filled');
    const at = (minute: number, v: number) => volts(startMs / 1000 - 7200 + minute * 60, v);
    await send(node, [at(0, 12.6), at(10, 12.6), at(20, 14.1)]);
    const flags = async () => (await list(node)).map(({ flag }) => flag);
    // The last has no reading after it yet; the one before it has: |12.6 − (12.6 + 14.1)/2| = 0.75 V, above 0.5 V.
    expect(await flags()).toEqual([1, 3, 1]);
    await send(node, [at(30, 12.6), at(40, 12.6)], 'backlog');
    expect(await flags()).toEqual([1, 3, 3, 3, 1]);
    // |14.1 − 12.6| = 1.5 V at the spike, 0.75 V on either side of it.
    expect((await list(node)).map(({ tests }) => tests)).toEqual([
      [],
      ['spike'],
      ['spike'],
      ['spike'],
      [],
    ]);
    const [doubted] = await store.rollups.series(node.id, 'batt_v', {
      ...wide,
      grain: 'day',
      quality: [3],
    });
    expect(doubted?.count).toBe(3);
  });
});
