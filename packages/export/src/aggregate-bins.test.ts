import { nodeId, type FieldNode, type NodeName, type Site, type SiteId } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { aggregateBins, type Bin } from './aggregate-bins.ts';
import type { SourceSample } from './export-source.ts';
import { nodeReadings } from './node-readings.ts';

const site: Site = {
  id: 'upper-weir' as SiteId,
  name: 'Upper Weir',
  position: { latitudeDeg: 54.6, longitudeDeg: -2.4, elevationM: 120 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
const node: FieldNode = {
  id: nodeId(1),
  name: 'upper-weir-1' as NodeName,
  siteId: site.id,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 100, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.6,
    offStateDrawW: 0.1,
    usualGapS: 30,
  },
  commissionedAtMs: Date.UTC(2026, 0, 1),
};
const readings = nodeReadings({ site, node }, new Map([[1, ['charge'] as const]]), [], {});
const sample = (atMs: number): SourceSample => ({
  at: new Date(atMs).toISOString().replace('T', ' ').replace('Z', '+00'),
  received: '2026-11-02 00:00:00+00',
  layoutId: 1,
  timeQuality: 0,
  values: '{64}',
  flags: null,
  tests: null,
  stale: false,
  card: false,
});
const startMs = Date.UTC(2026, 10, 1);
const MINUTE_MS = 60_000;

function binsOf(timesMs: readonly number[], length: '1h' | '1d' = '1d'): readonly Bin[] {
  const bins = aggregateBins(readings, {
    fromMs: startMs,
    toMs: startMs + 24 * 60 * MINUTE_MS,
    flags: [1],
    aggregate: { length, day: 'utc', extremes: false },
  });
  return [...bins.add(timesMs.map(sample)), ...bins.end()];
}
const completeness = (bins: readonly Bin[]) =>
  bins.map(({ figures }) => {
    const { count, expected } = figures.get('charge') ?? { count: Number.NaN, expected: 1 };
    return count / expected;
  });

// The node is set to 30 s; what it kept in the interval itself is what it is held to.
describe('how many readings an interval would have', () => {
  const every = (minutes: number, from: number, to: number) =>
    Array.from(
      { length: Math.ceil((to - from) / minutes) },
      (_, i) => startMs + (from + i * minutes) * MINUTE_MS,
    );

  it('is told by the gap it kept: a whole day at a quarter of an hour is complete', () => {
    expect(completeness(binsOf(every(15, 0, 1440)))).toEqual([1]);
    expect(completeness(binsOf(every(15, 0, 120), '1h'))).toEqual([1, 1]);
  });

  it('is half of it where half the day was silent', () => {
    expect(completeness(binsOf(every(15, 0, 720)))).toEqual([0.5]);
  });

  it('holds an interval with too few readings to tell to the gap before', () => {
    const oneHourAndOne = [...every(15, 0, 60), startMs + 60 * MINUTE_MS];
    expect(completeness(binsOf(oneHourAndOne, '1h'))).toEqual([1, 0.25]);
  });

  it('is told by the usual gap of the node where nothing else is known', () => {
    expect(completeness(binsOf([startMs], '1h'))).toEqual([1 / 120]);
  });
});
