/** The value below which `share` (0–1) of them lie, by the nearest rank; NaN for none. */
export function percentile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
}

export const seconds = (ms: number): number => Math.round(ms / 10) / 100;
