import { aggregateSeconds, type ExportRequest } from './export-request.ts';
import { localTime } from './local-time.ts';

export type IntervalRange = Pick<ExportRequest, 'aggregate' | 'fromMs' | 'toMs'>;

/**
 * Which interval an instant of the range belongs to. The first and the last are cut where the range is: a row tells of no time that
 * was not asked for, and its length is that of what it covers.
 *
 * @returns [start, first instant after it)
 */
export function intervalSpans(
  { aggregate, fromMs, toMs }: IntervalRange,
  timeZone: string,
): (atMs: number) => readonly [startMs: number, endMs: number] {
  if (aggregate === undefined) throw new Error('intervalSpans: nothing is to be summed up');
  const lengthMs = aggregateSeconds[aggregate.length] * 1000;
  const civil =
    aggregate.length === '1d' && aggregate.day === 'civil' ? localTime(timeZone) : undefined;
  return (atMs) => {
    const whole = Math.floor(atMs / lengthMs) * lengthMs;
    const [startMs, endMs] = civil?.day(atMs) ?? [whole, whole + lengthMs];
    return [Math.max(startMs, fromMs), Math.min(endMs, toMs)];
  };
}
