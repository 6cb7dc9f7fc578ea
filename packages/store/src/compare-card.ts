import { HOUR_MS, type MetricKey, type Sample } from '@duskline/domain';
import type { CardBatch, CardCounts } from './card-import-store.ts';

/** A stored row. */
export interface StoredSample {
  readonly observedAtMs: number;
  readonly metrics: readonly MetricKey[];
  readonly values: readonly number[];
}

export interface FoundConflict {
  readonly metric: MetricKey;
  readonly observedAtMs: number;
  readonly keptValue: number;
  readonly cardValue: number;
}

export interface CardComparison {
  /** What is missing, as samples of their own. */
  readonly missing: readonly Sample[];
  readonly conflicts: readonly FoundConflict[];
  readonly counts: CardCounts;
}

/** The stretches of time a batch touches: rows far apart in time are not looked for between them. */
export function stretchesOf(
  samples: readonly Sample[],
  timeStepMs: number,
): readonly (readonly [fromMs: number, toMs: number])[] {
  const times = samples.map((sample) => sample.observedAtMs).sort((a, b) => a - b);
  const stretches: [number, number][] = [];
  for (const atMs of times) {
    const [fromMs, toMs] = [atMs - timeStepMs / 2, atMs + timeStepMs];
    const last = stretches.at(-1);
    if (last !== undefined && fromMs - last[1] < HOUR_MS) last[1] = Math.max(last[1], toMs);
    else stretches.push([fromMs, toMs]);
  }
  return stretches;
}

/**
 * Holds samples of a card against the rows stored around them. The reading of a metric nearest in time is the one that counts.
 *
 * @param stored by time
 */
export function compareCard(
  { samples, tolerance, timeStepMs }: Pick<CardBatch, 'samples' | 'tolerance' | 'timeStepMs'>,
  stored: readonly StoredSample[],
): CardComparison {
  const counts = { filled: 0, here: 0, conflicts: 0, repeated: 0 };
  const missing: Sample[] = [];
  const conflicts: FoundConflict[] = [];
  const ofBatch = new Map<number, Map<MetricKey, number>>();
  const same = (metric: MetricKey, a: number, b: number): boolean =>
    Math.abs(a - b) <= (tolerance.get(metric) ?? 0) * (1 + 1e-9) + Math.abs(a) * 1e-12;

  for (const sample of samples) {
    const { observedAtMs } = sample;
    const near = nearIn(stored, observedAtMs, timeStepMs);
    const before = ofBatch.get(observedAtMs);
    const [metrics, values]: [MetricKey[], number[]] = [[], []];
    sample.metrics.forEach((metric, index) => {
      const cardValue = sample.values[index] ?? 0;
      const known = valueOf(near, metric, observedAtMs);
      const twin = known === undefined ? before?.get(metric) : undefined;
      const keptValue = known ?? twin;
      if (keptValue === undefined) {
        metrics.push(metric);
        values.push(cardValue);
      } else if (!same(metric, keptValue, cardValue)) {
        counts.conflicts += 1;
        conflicts.push({ metric, observedAtMs, keptValue, cardValue });
      } else if (twin === undefined) counts.here += 1;
      else counts.repeated += 1;
    });
    if (metrics.length === 0) continue;
    counts.filled += metrics.length;
    missing.push({ ...sample, metrics, values });
    const kept = before ?? new Map<MetricKey, number>();
    metrics.forEach((metric, index) => kept.set(metric, values[index] ?? 0));
    ofBatch.set(observedAtMs, kept);
  }
  return { missing, conflicts, counts };
}

/** The rows within [at − step/2, at + step), or at the very instant where the step is 0. */
function nearIn(
  stored: readonly StoredSample[],
  atMs: number,
  stepMs: number,
): readonly StoredSample[] {
  const fromMs = atMs - stepMs / 2;
  let [low, high] = [0, stored.length];
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((stored[middle] as StoredSample).observedAtMs < fromMs) low = middle + 1;
    else high = middle;
  }
  let end = low;
  while (end < stored.length) {
    const at = (stored[end] as StoredSample).observedAtMs;
    if (stepMs === 0 ? at > atMs : at >= atMs + stepMs) break;
    end += 1;
  }
  return stored.slice(low, end);
}

function valueOf(
  rows: readonly StoredSample[],
  metric: MetricKey,
  atMs: number,
): number | undefined {
  let [nearest, value] = [Infinity, undefined as number | undefined];
  for (const row of rows) {
    const away = Math.abs(row.observedAtMs - atMs);
    if (away >= nearest) continue;
    const place = row.metrics.indexOf(metric);
    if (place >= 0) [nearest, value] = [away, row.values[place]];
  }
  return value;
}
