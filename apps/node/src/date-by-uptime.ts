import type { LoggedLine } from './parse-line.ts';

/** No node of ours is older: an earlier time is a clock that was never set. */
export const EARLIEST_MS = Date.UTC(2020, 0, 1);

export type DatedByUptime =
  | { readonly kind: 'dated'; readonly observedAtMs: number }
  /** No later line tells, yet. */
  | { readonly kind: 'not-yet' }
  /** It never will: the board restarted before its clock was set, or its lines have no uptime. */
  | { readonly kind: 'never' };

/**
 * When a line was written whose clock was not set: counted back from the first later line of the same boot whose clock was.
 * observed = later − (uptime of the later − uptime of the line). An uptime that goes down is another boot.
 *
 * @param later the lines behind it, in order; those that cannot be read left out
 */
export function dateByUptime(line: LoggedLine, later: Iterable<LoggedLine>): DatedByUptime {
  const uptimeS = uptimeOf(line);
  if (uptimeS === undefined) return { kind: 'never' };
  let newestS = uptimeS;
  for (const other of later) {
    const otherS = uptimeOf(other);
    if (otherS === undefined) continue;
    if (otherS < newestS) return { kind: 'never' };
    newestS = otherS;
    if (other.observedAtMs >= EARLIEST_MS)
      return {
        kind: 'dated',
        observedAtMs: Math.round(other.observedAtMs - (otherS - uptimeS) * 1000),
      };
  }
  return { kind: 'not-yet' };
}

const SECONDS_IN: Readonly<Record<string, number>> = { s: 1, min: 60, h: 3600 };

function uptimeOf(line: LoggedLine): number | undefined {
  const found = line.values.find(({ metric }) => metric === 'uptime');
  const scale = SECONDS_IN[found?.unit ?? 's'];
  return typeof found?.value === 'number' && scale !== undefined ? found.value * scale : undefined;
}
