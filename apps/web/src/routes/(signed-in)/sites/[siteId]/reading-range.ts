import { DAY_MS, MINUTE_MS } from '@duskline/domain';

export const ranges = ['1d', '7d', '30d', '1y'] as const;
export type Range = (typeof ranges)[number];

const lengthMs: Readonly<Record<Range, number>> = {
  '1d': DAY_MS,
  '7d': 7 * DAY_MS,
  '30d': 30 * DAY_MS,
  '1y': 365 * DAY_MS,
};

/** The range an address names, or a week. */
export const parseRange = (text: string | null): Range =>
  ranges.find((range) => range === text) ?? '7d';

/** From and to of a range that ends now, on a whole minute so that the same question has the same answer. */
export function rangeBounds(range: Range, nowMs: number): { fromMs: number; toMs: number } {
  const toMs = Math.ceil(nowMs / MINUTE_MS) * MINUTE_MS;
  return { fromMs: toMs - lengthMs[range], toMs };
}

/** The site page's address with some parameters changed and the others kept. */
export function siteHref(
  siteId: string,
  params: URLSearchParams,
  changes: Readonly<Record<string, string>>,
): string {
  const changed = new URLSearchParams([...params, ...Object.entries(changes)]);
  for (const [key, value] of Object.entries(changes)) changed.set(key, value);
  return `/sites/${siteId}?${changed.toString()}`;
}
