import { MISSING, NOT_EVALUATED, PASS, type TestResult } from '../series.ts';

type Span = readonly [low: number, high: number];

/**
 * Gross range: outside the fail span 4, outside the suspect span 3. The ends belong to the span.
 *
 * @throws RangeError when the suspect span reaches out of the fail span
 * @source ioos_qc `qartod.py`, `gross_range_test`; QARTOD manuals, test 4
 */
export function grossRangeTest(
  value: number | null,
  { failSpan, suspectSpan }: { readonly failSpan?: Span; readonly suspectSpan?: Span },
): TestResult {
  if (failSpan !== undefined && suspectSpan !== undefined)
    if (suspectSpan[0] < failSpan[0] || suspectSpan[1] > failSpan[1])
      throw new RangeError('The suspect span reaches out of the fail span.');
  if (value === null) return MISSING;
  if (failSpan === undefined && suspectSpan === undefined) return NOT_EVALUATED;
  const broken = (span: Span | undefined): number | undefined => {
    if (span === undefined) return undefined;
    if (value < span[0]) return span[0];
    return value > span[1] ? span[1] : undefined;
  };
  const failed = broken(failSpan);
  if (failed !== undefined) return { flag: 4, found: value, limit: failed };
  const doubted = broken(suspectSpan);
  return doubted === undefined ? PASS : { flag: 3, found: value, limit: doubted };
}
