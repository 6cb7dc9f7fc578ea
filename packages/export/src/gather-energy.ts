import type { MetricKey } from '@duskline/domain';
import { aggregateSeconds, type ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import { intervalSpans } from './interval-spans.ts';
import { keptGap } from './kept-gap.ts';
import { arrayItems, flagAt, nodeReadings, UNSURE, type NodeReadings } from './node-readings.ts';
import type { Cell } from './tables/table.ts';
import { instantText, utcText } from './utc-text.ts';

const HOUR_MS = 3_600_000;

/** Power itself, or what it is the product of. */
const POWER = {
  harvest: ['panel_w', 'panel_v', 'panel_i'],
  load: ['load_w', 'load_v', 'load_i'],
} as const satisfies Record<string, readonly MetricKey[]>;
type Flow = keyof typeof POWER;
const flows = ['harvest', 'load'] as const;

/** Intervals shorter than an hour have their mean power; energy is told from an hour on. */
export const tellsEnergy = ({ aggregate }: Pick<ExportRequest, 'aggregate'>): boolean =>
  aggregate !== undefined && aggregateSeconds[aggregate.length] >= 3600;

/**
 * Energy of each interval, gathered from the same pages of samples as its values: nothing is read twice.
 *
 * @returns a source that passes every page on, and the rows of energy.csv once its pages have been read
 */
export function gatherEnergy(
  source: ExportSource,
  request: ExportRequest,
): { readonly source: ExportSource; readonly rows: (readonly Cell[])[] } {
  const rows: (readonly Cell[])[] = [];
  const tapped: ExportSource = {
    ...source,
    async *samples(nodeId) {
      const site = source.sites.find(({ node }) => node?.id === nodeId);
      const { node } = site ?? {};
      if (site === undefined || node === undefined)
        throw new Error(`There is no node ${nodeId} among the sites of the export.`);
      const energy = nodeEnergy(
        nodeReadings({ site: site.site, node }, source.layouts, [], request),
        request,
      );
      for await (const page of source.samples(nodeId)) {
        rows.push(...energy.add(page));
        yield page;
      }
      rows.push(...energy.end());
    },
  };
  return { source: tapped, rows };
}

interface Flowing {
  readonly kept: ReturnType<typeof keptGap>;
  last?: { readonly atMs: number; readonly powerW: number };
  wh: number;
  heardH: number;
}

/** A reading stands for the time until the next, where that comes within so many gaps; else for one gap. */
const MOST_GAPS = 2;

/** Each reading's power times the time it stands for, cut where an interval ends. */
function nodeEnergy(readings: NodeReadings, request: ExportRequest) {
  const { site, node } = readings;
  const spanAt = intervalSpans(request, site.timeZone);
  const chosen = new Set<number>(request.flags);
  const flowing = (): Flowing => ({ kept: keptGap(node.power.usualGapS), wh: 0, heardH: 0 });
  const of: Record<Flow, Flowing> = { harvest: flowing(), load: flowing() };
  let span: readonly [startMs: number, endMs: number] = [0, 0];

  function count(flow: Flowing, powerW: number, fromMs: number, toMs: number): void {
    const hours = Math.max(0, toMs - fromMs) / HOUR_MS;
    flow.heardH += hours;
    flow.wh += powerW * hours;
  }

  /** What the newest reading stands for, as far as it lies in the interval. */
  function countLast(flow: Flowing, nextMs: number): void {
    if (flow.last === undefined) return;
    const { atMs, powerW } = flow.last;
    count(flow, powerW, Math.max(atMs, span[0]), Math.min(endOf(flow, nextMs), span[1]));
  }

  function endOf({ last, kept }: Flowing, nextMs: number): number {
    const atMs = last?.atMs ?? nextMs;
    const gapMs = kept.gapS() * 1000;
    return nextMs - atMs <= MOST_GAPS * gapMs ? nextMs : atMs + gapMs;
  }

  function close(): readonly (readonly Cell[])[] {
    const { harvest, load } = of;
    const told = ({ wh, heardH }: Flowing): readonly Cell[] =>
      heardH === 0 ? [null, 0] : [Number(wh.toFixed(3)), Number(heardH.toFixed(3))];
    const rows =
      harvest.heardH === 0 && load.heardH === 0
        ? []
        : [
            [
              ...[site.id, node.name, instantText(span[0]), (span[1] - span[0]) / 1000],
              ...told(harvest),
              ...told(load),
            ],
          ];
    for (const flow of [harvest, load]) [flow.wh, flow.heardH] = [0, 0];
    return rows;
  }

  function turnTo(atMs: number): readonly (readonly Cell[])[] {
    if (atMs >= span[0] && atMs < span[1]) return [];
    for (const flow of flows) countLast(of[flow], atMs);
    const done = close();
    span = spanAt(atMs);
    return done;
  }

  return {
    add(samples: readonly SourceSample[]): readonly (readonly Cell[])[] {
      const done: (readonly Cell[])[] = [];
      for (const sample of samples) {
        if (sample.timeQuality === UNSURE) continue;
        const powerW = powersOf(readings, sample, chosen);
        if (powerW.harvest === undefined && powerW.load === undefined) continue;
        const atMs = Date.parse(utcText(sample.at));
        done.push(...turnTo(atMs));
        for (const flow of flows) {
          const valueW = powerW[flow];
          if (valueW === undefined) continue;
          const one = of[flow];
          one.kept.note(atMs);
          countLast(one, atMs);
          one.last = { atMs, powerW: valueW };
        }
      }
      return done;
    },
    end(): readonly (readonly Cell[])[] {
      for (const flow of flows) countLast(of[flow], Infinity);
      return close();
    },
  };
}

function powersOf(
  readings: NodeReadings,
  sample: SourceSample,
  chosen: ReadonlySet<number>,
): Readonly<Record<Flow, number | undefined>> {
  const { places, keys } = readings.wanted(sample.layoutId);
  const values = arrayItems(sample.values);
  const flags = sample.flags === null ? undefined : arrayItems(sample.flags);
  const read = (key: MetricKey): number | undefined => {
    const place = places[keys.indexOf(key)];
    if (place === undefined || !chosen.has(flagAt(flags, place, sample.stale))) return undefined;
    return Number(values[place]);
  };
  const power = (flow: Flow): number | undefined => {
    const [wattKey, voltKey, ampereKey] = POWER[flow];
    const powerW = read(wattKey);
    if (powerW !== undefined) return powerW;
    const [voltageV, currentA] = [read(voltKey), read(ampereKey)];
    return voltageV === undefined || currentA === undefined ? undefined : voltageV * currentA;
  };
  return { harvest: power('harvest'), load: power('load') };
}
