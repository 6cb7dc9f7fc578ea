import {
  metric,
  qualityFlags,
  qualityTests,
  timeQualities,
  type FieldNode,
  type MetricKey,
  type Part,
  type Site,
} from '@duskline/domain';
import type { ExportRequest } from './export-request.ts';
import { partChanges, partFor } from './part-lookup.ts';

/** The metrics of a layout that are asked for, with their places in it. */
export interface WantedMetrics {
  readonly places: readonly number[];
  readonly keys: readonly MetricKey[];
}

/** What is the same for all readings of one node: which metrics are wanted, and which part measured them when. */
export interface NodeReadings {
  readonly site: Site;
  readonly node: FieldNode;
  wanted(layoutId: number): WantedMetrics;
  /** Id of the part; empty where it is not one. */
  part(key: MetricKey, atMs: number): string;
  /** Grows whenever a part changed before this instant: what was cached by part is stale then. */
  epoch(atMs: number): number;
}

export function nodeReadings(
  { site, node }: { readonly site: Site; readonly node: FieldNode },
  layouts: ReadonlyMap<number, readonly (MetricKey | undefined)[]>,
  parts: readonly Part[],
  request: Pick<ExportRequest, 'metrics'>,
): NodeReadings {
  const asked = request.metrics === undefined ? undefined : new Set(request.metrics);
  const known = new Map<number, WantedMetrics>();
  const changes = partChanges(parts);
  return {
    site,
    node,
    wanted(layoutId) {
      const found = known.get(layoutId);
      if (found !== undefined) return found;
      const places: number[] = [];
      const keys: MetricKey[] = [];
      for (const [place, key] of (layouts.get(layoutId) ?? []).entries()) {
        if (key === undefined || (asked !== undefined && !asked.has(key))) continue;
        places.push(place);
        keys.push(key);
      }
      const made = { places, keys };
      known.set(layoutId, made);
      return made;
    },
    part: (key, atMs) => partFor(key, parts, atMs),
    epoch: (atMs) => changes.filter((changeMs) => changeMs <= atMs).length,
  };
}

/** Text of a database array without its braces, taken apart. Numbers have no commas. */
export const arrayItems = (text: string): string[] => text.slice(1, -1).split(',');

const PASS = qualityFlags.pass;
const UNTESTED = qualityFlags['not-evaluated'];

/** The flag of one value: what the tests said, or else whether its hour has been tested at all. */
export function flagAt(
  flags: readonly string[] | undefined,
  place: number,
  stale: boolean,
): number {
  const said = flags?.[place];
  if (said !== undefined && said !== 'NULL' && said !== '') return Number(said);
  return stale ? UNTESTED : PASS;
}

/** Names of the tests that found fault, in the order of the catalogue, with a space between. */
export function testNames(mask: number): string {
  return mask === 0 ? '' : qualityTests.filter((_, bit) => (mask & (1 << bit)) !== 0).join(' ');
}

export const maskAt = (tests: readonly string[] | undefined, place: number): number => {
  const said = tests?.[place];
  return said === undefined || said === 'NULL' || said === '' ? 0 : Number(said);
};

export const timeQualityWord = (place: number | null): string =>
  timeQualities[place ?? 0] ?? 'synced';
export const UNSURE = timeQualities.indexOf('unsure');
export const unitOf = (key: MetricKey): string => metric(key).unit;
