import type { MetricKey } from '@duskline/domain';
import type { LoggedLine, LoggedValue } from './parse-line.ts';

/**
 * What a line adds to those before it that have the same time: a node has one value of a metric at one time.
 *
 * @param before the values at that time so far
 * @returns the line without what was said already, or the metric for which it says something else
 */
export function mergeLine(
  line: LoggedLine,
  before: ReadonlyMap<MetricKey, LoggedValue>,
): { readonly added: LoggedLine } | { readonly contradicts: MetricKey } {
  const values: LoggedValue[] = [];
  for (const value of line.values) {
    const said = before.get(value.metric);
    if (said === undefined) values.push(value);
    else if (said.value !== value.value) return { contradicts: value.metric };
  }
  return { added: { ...line, values } };
}
