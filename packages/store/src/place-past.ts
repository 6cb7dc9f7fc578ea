import { HOUR_MS, type NodeInterval } from '@duskline/domain';
import type { IntervalRow } from './interval-row.ts';

/** An interval that is over. */
export interface Stretch extends Omit<IntervalRow, 'to_at'> {
  readonly to_at: number;
}

export interface PlacedPast {
  readonly closed: readonly Stretch[];
  /** Where the interval begins that is still open. */
  readonly openFromMs: number;
}

/** What is open and says that nothing is heard begins after the last reading; what says that all is well reaches back. */
const SILENT: readonly string[] = [
  'dark-as-designed',
  'overdue',
  'silent-unexplained',
  'link-down',
  // Never heard: since it was put up, which may be long before what it tells now.
  'not-yet-proved',
];
const WELL: readonly string[] = ['up', 'low'];
/** A shorter hole between the told past and what follows is the way of a message, not a silence. */
const SEAM_MS = 2 * HOUR_MS;

/**
 * The row of intervals with a told past in its place.
 *
 * @param rows those that touch the told stretch, and the open one, by time
 * @param told without gap or overlap, not empty
 * @returns what takes the place of `rows`
 */
export function placePast(
  rows: readonly IntervalRow[],
  open: IntervalRow,
  told: readonly NodeInterval[],
): PlacedPast {
  const fromMs = told[0]?.fromMs ?? 0;
  const toMs = told.at(-1)?.toMs ?? fromMs;
  const givesWay =
    open.from_at < toMs && (SILENT.includes(open.state) || WELL.includes(open.state));
  const openFromMs = givesWay ? toMs : open.from_at;
  const over = rows.flatMap((row): Stretch[] => {
    if (row.to_at !== null) return [{ ...row, to_at: row.to_at }];
    return WELL.includes(row.state) && givesWay ? [{ ...row, to_at: toMs }] : [];
  });
  const before = over.flatMap((row) => cut(row, -Infinity, fromMs));
  const after = over.flatMap((row) => cut(row, toMs, openFromMs));
  const stretches = told
    .map((one): Stretch => ({
      state: one.state,
      from_at: one.fromMs,
      to_at: one.toMs ?? toMs,
      cause: one.cause,
      evidence: one.evidence,
    }))
    .flatMap((one) => cut(one, fromMs, openFromMs));
  const nextMs = after[0]?.from_at ?? openFromMs;
  const closed = joined([...before, ...seamed(stretches, nextMs), ...after]);
  const last = closed.at(-1);
  return last?.to_at === openFromMs && last.state === open.state && open.state === 'up'
    ? { closed: closed.slice(0, -1), openFromMs: last.from_at }
    : { closed, openFromMs };
}

const cut = (row: Stretch, fromMs: number, toMs: number): readonly Stretch[] => {
  const part = { ...row, from_at: Math.max(row.from_at, fromMs), to_at: Math.min(row.to_at, toMs) };
  return part.to_at > part.from_at ? [part] : [];
};

/** The told past reaches up to what follows it. */
function seamed(stretches: readonly Stretch[], nextMs: number): readonly Stretch[] {
  const last = stretches.at(-1);
  if (last === undefined || last.to_at >= nextMs) return stretches;
  if (nextMs - last.to_at <= SEAM_MS)
    return [...stretches.slice(0, -1), { ...last, to_at: nextMs }];
  const unknown: Stretch = {
    state: 'silent-unexplained',
    from_at: last.to_at,
    to_at: nextMs,
    cause: 'Nothing is known of this time.',
    evidence: [],
  };
  return [...stretches, unknown];
}

/** Neighbours of the same state and cause are one; all is well for the same reason always. */
function joined(stretches: readonly Stretch[]): readonly Stretch[] {
  const result: Stretch[] = [];
  for (const one of stretches) {
    const last = result.at(-1);
    const same = last?.state === one.state && (last.cause === one.cause || one.state === 'up');
    if (last !== undefined && last.to_at === one.from_at && same)
      result[result.length - 1] = { ...last, to_at: one.to_at };
    else result.push(one);
  }
  return result;
}
