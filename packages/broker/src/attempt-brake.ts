import { MINUTE_MS } from '@duskline/domain';

const MAX_FAILURES = 10;
const MAX_REMEMBERED = 10_000;

/**
 * Slows whoever tries secrets: after ten failures within a minute the same address gets no further try at the same name
 * until that minute is over. By name and address, so that one wrong node behind a shared address locks out no other.
 */
export function createAttemptBrake(now: () => number) {
  const failures = new Map<string, { sinceMs: number; count: number }>();

  const recent = (key: string) => {
    const entry = failures.get(key);
    return entry !== undefined && now() - entry.sinceMs < MINUTE_MS ? entry : undefined;
  };

  return {
    blocks: (key: string): boolean => (recent(key)?.count ?? 0) >= MAX_FAILURES,
    failed(key: string): void {
      const entry = recent(key);
      if (entry !== undefined) {
        entry.count += 1;
        return;
      }
      if (failures.size >= MAX_REMEMBERED) failures.clear();
      failures.set(key, { sinceMs: now(), count: 1 });
    },
    succeeded: (key: string): void => {
      failures.delete(key);
    },
  };
}
