import type { SeededRandom } from '../seeded-random.ts';
import { type ClearnessMatrix, clearnessMatrices } from './clearness-matrices.ts';
import { monthlyMean } from './monthly-mean.ts';

/** Daily clearness, day after day, for a place of which only twelve monthly means are known. */
export interface ClearnessChain {
  /**
   * Fills `into` with one possible course, from `fromDay` (0 when left out) on.
   *
   * @param after.yesterday  clearness of the day before the first; left out: an ordinary day of the season
   */
  draw(
    random: SeededRandom,
    into: Float64Array,
    after?: { readonly fromDay?: number; readonly yesterday?: number | undefined },
  ): void;
}

/** A matrix made ready: cumulative rows, and what it gives in the long run. */
export interface ReadyMatrix {
  readonly least: number;
  readonly width: number;
  /** Cumulative probability, `[class of yesterday · 10 + class of today]`; rows end at 1. */
  readonly cumulative: Float64Array;
  /** Cumulative share of days in each class in the long run. */
  readonly settled: Float64Array;
  /** Where to begin to look in `cumulative`: the first class not ruled out, `[class of yesterday · 32 + ⌊32 · uniform⌋]`. */
  readonly guide: Uint8Array;
  /** Mean clearness in the long run. */
  readonly mean: number;
}

const CLASSES = 10;
const GUIDES = 32;
/** Of the second matrix the memory is lost: see `clearnessMatrices`. */
const WITHOUT_MEMORY = 1;

/** The matrices used, by rising long-run mean: 0.24 … 0.73. */
export const readyMatrices: readonly ReadyMatrix[] = clearnessMatrices
  .filter((_, index) => index !== WITHOUT_MEMORY)
  .map(ready);

/**
 * Makes up daily clearness by the library of Markov matrices: class follows class, uniform within the class.
 *
 * Each day has its mean from the months around it. Between two matrices a path keeps to one or the other, as often as the mean
 * lies near it, and its days are scaled so that the mean is met; so nothing jumps where the published classes meet.
 *
 * @param inputs.clearnessByMonth  twelve means of daily clearness (harvest of a level surface over that above the air), 0.05 … 0.85
 * @param inputs.startDayOfYear    1 … 366, of the first day drawn
 * @param inputs.days              how many days a course has
 * @throws RangeError when there are not twelve values in range
 * @accuracy mean of long runs within 0.01 of the monthly mean, lag-1 correlation 0.2 … 0.45: clearness-chain.test.ts
 * @source Aguiar, Collares-Pereira & Conde 1988, Solar Energy 40:269
 */
export function clearnessChain(inputs: {
  readonly clearnessByMonth: readonly number[];
  readonly startDayOfYear: number;
  readonly days: number;
}): ClearnessChain {
  const { clearnessByMonth, startDayOfYear, days } = inputs;
  if (clearnessByMonth.length !== 12 || clearnessByMonth.some((k) => !(k >= 0.05 && k <= 0.85)))
    throw new RangeError('Monthly clearness is twelve numbers between 0.05 and 0.85.');
  const below = new Uint8Array(days);
  const share = new Float64Array(days);
  const means = new Float64Array(days);
  for (let day = 0; day < days; day++) {
    const mean = monthlyMean(clearnessByMonth, startDayOfYear + day);
    means[day] = mean;
    const above = readyMatrices.findIndex((matrix) => matrix.mean >= mean);
    const index = above < 0 ? readyMatrices.length - 1 : Math.max(0, above - 1);
    const low = readyMatrices[index]!.mean;
    const high = readyMatrices[index + 1]?.mean ?? Number.POSITIVE_INFINITY;
    below[day] = index;
    share[day] = Math.min(1, Math.max(0, (mean - low) / (high - low)));
  }
  const scales = readyMatrices.map((matrix) => means.map((mean) => mean / matrix.mean));

  return {
    draw: (random, into, { fromDay = 0, yesterday } = {}) => {
      const side = random.uniform();
      let before = -1;
      for (let day = fromDay; day < Math.min(days, into.length); day++) {
        const index = below[day]! + (side < share[day]! ? 1 : 0);
        const matrix = readyMatrices[index]!;
        const scale = scales[index]![day]!;
        if (day === fromDay && yesterday !== undefined) before = classOf(matrix, yesterday / scale);
        before = nextClass(matrix, before, random.uniform());
        into[day] = scale * (matrix.least + matrix.width * (before + random.uniform()));
      }
    },
  };
}

/** Class of a day's clearness, 0 … 9; days beyond the ends belong to the end classes. */
export function classOf({ least, width }: ReadyMatrix, clearness: number): number {
  return Math.min(CLASSES - 1, Math.max(0, Math.floor((clearness - least) / width)));
}

function nextClass(
  { cumulative, settled, guide }: ReadyMatrix,
  before: number,
  uniform: number,
): number {
  const table = before < 0 ? settled : cumulative;
  const from = before < 0 ? 0 : before * CLASSES;
  let to = before < 0 ? 0 : guide[before * GUIDES + Math.trunc(uniform * GUIDES)]!;
  while (to < CLASSES - 1 && uniform >= table[from + to]!) to++;
  return to;
}

function ready(matrix: ClearnessMatrix): ReadyMatrix {
  const width = (matrix.greatest - matrix.least) / CLASSES;
  const rows = matrix.rows.map((row) => {
    const sum = row.reduce((total, value) => total + value, 0);
    return row.map((value) => value / sum);
  });
  const shares = longRun(rows);
  const cumulative = rows.map(cumulate);
  return {
    least: matrix.least,
    width,
    cumulative: Float64Array.from(cumulative.flat()),
    settled: Float64Array.from(cumulate(shares)),
    guide: Uint8Array.from(cumulative.flatMap(guideOf)),
    mean: shares.reduce((sum, share, i) => sum + share * (matrix.least + width * (i + 0.5)), 0),
  };
}

/** By thirty-seconds of the uniform: the first class that is not ruled out, so that a draw looks at one or two. */
function guideOf(row: readonly number[]): readonly number[] {
  return Array.from({ length: GUIDES }, (_, i) => {
    const first = row.findIndex((share) => share > i / GUIDES);
    return first < 0 ? CLASSES - 1 : Math.min(CLASSES - 1, first);
  });
}

/** Shares of days in each class after many steps. */
function longRun(rows: readonly (readonly number[])[]): readonly number[] {
  let shares: readonly number[] = new Array<number>(CLASSES).fill(1 / CLASSES);
  for (let step = 0; step < 300; step++)
    shares = shares.map((_, to) =>
      rows.reduce((sum, row, from) => sum + shares[from]! * row[to]!, 0),
    );
  return shares;
}

function cumulate(values: readonly number[]): readonly number[] {
  let sum = 0;
  return values.map((value) => (sum += value));
}
