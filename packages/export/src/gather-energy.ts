import type { MetricKey } from '@duskline/domain';
import { aggregateSeconds, type ExportRequest } from './export-request.ts';
import type { ExportSource, SourceSample } from './export-source.ts';
import { intervalSpans } from './interval-spans.ts';
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

interface Gathered {
  count: number;
  sumW: number;
}
const nothing = (): Record<Flow, Gathered> => ({
  harvest: { count: 0, sumW: 0 },
  load: { count: 0, sumW: 0 },
});

/** Hour by hour within an interval: mean power times the time heard, which is readings times the usual gap, an hour at most. */
function nodeEnergy(readings: NodeReadings, request: ExportRequest) {
  const { site, node } = readings;
  const spanAt = intervalSpans(request, site.timeZone);
  const chosen = new Set<number>(request.flags);
  let span: readonly [startMs: number, endMs: number] = [0, 0];
  let hour: readonly [startMs: number, endMs: number] = [0, 0];
  let ofHour = nothing();
  let total: Record<Flow, { wh: number; heardH: number }> = fresh();

  function closeHour(): void {
    const wholeH = (hour[1] - hour[0]) / HOUR_MS;
    for (const flow of flows) {
      const { count, sumW } = ofHour[flow];
      if (count === 0) continue;
      const heardH = Math.min(wholeH, (count * node.power.usualGapS) / 3600);
      total[flow].heardH += heardH;
      total[flow].wh += (sumW / count) * heardH;
    }
    ofHour = nothing();
  }

  function close(): readonly (readonly Cell[])[] {
    closeHour();
    const { harvest, load } = total;
    total = fresh();
    if (harvest.heardH === 0 && load.heardH === 0) return [];
    const told = ({ wh, heardH }: typeof harvest): readonly Cell[] =>
      heardH === 0 ? [null, 0] : [Number(wh.toFixed(3)), Number(heardH.toFixed(3))];
    return [
      [
        ...[site.id, node.name, instantText(span[0]), (span[1] - span[0]) / 1000],
        ...told(harvest),
        ...told(load),
      ],
    ];
  }

  function turnTo(atMs: number): readonly (readonly Cell[])[] {
    let done: readonly (readonly Cell[])[] = [];
    if (atMs >= span[1] || atMs < span[0]) {
      done = close();
      span = spanAt(atMs);
    }
    if (atMs >= hour[1] || atMs < hour[0]) {
      closeHour();
      const startMs = Math.floor(atMs / HOUR_MS) * HOUR_MS;
      hour = [Math.max(startMs, span[0]), Math.min(startMs + HOUR_MS, span[1])];
    }
    return done;
  }

  return {
    add(samples: readonly SourceSample[]): readonly (readonly Cell[])[] {
      const done: (readonly Cell[])[] = [];
      for (const sample of samples) {
        if (sample.timeQuality === UNSURE) continue;
        const powerW = powersOf(readings, sample, chosen);
        if (powerW.harvest === undefined && powerW.load === undefined) continue;
        done.push(...turnTo(Date.parse(utcText(sample.at))));
        for (const flow of flows) {
          const valueW = powerW[flow];
          if (valueW === undefined) continue;
          ofHour[flow].count += 1;
          ofHour[flow].sumW += valueW;
        }
      }
      return done;
    },
    end: close,
  };
}

const fresh = () => ({ harvest: { wh: 0, heardH: 0 }, load: { wh: 0, heardH: 0 } });

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
