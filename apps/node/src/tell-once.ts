import { HOUR_MS } from '@duskline/domain';

/** The same trouble once an hour is enough: a month without a line must not fill the journal. */
export function tellOnce(
  tell: (text: string) => void,
  now: () => number = Date.now,
): (text: string) => void {
  const toldAtMs = new Map<string, number>();
  return (text) => {
    const nowMs = now();
    if (nowMs - (toldAtMs.get(text) ?? -Infinity) < HOUR_MS) return;
    for (const [old, atMs] of toldAtMs) if (nowMs - atMs > HOUR_MS) toldAtMs.delete(old);
    toldAtMs.set(text, nowMs);
    tell(text);
  };
}
