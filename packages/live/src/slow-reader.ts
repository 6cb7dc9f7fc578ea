export interface SlowReaderLimits {
  /** More than this may wait for a reader for a while: many rows can change at once. */
  readonly maxWaitingBytes: number;
  /** How long. */
  readonly patienceMs: number;
}

/** This many times as much is never waited with. */
const NEVER_MORE_THAN = 8;

/**
 * Tells readers that do not keep up from those that were only just told a lot.
 *
 * @returns a function to ask before each sending and now and then besides: has this reader been behind for too long?
 */
export function slowReader<Reader extends object>({
  maxWaitingBytes,
  patienceMs,
}: SlowReaderLimits): (reader: Reader, waitingBytes: number, nowMs: number) => boolean {
  const behindSinceMs = new WeakMap<Reader, number>();
  return (reader, waitingBytes, nowMs) => {
    if (waitingBytes <= maxWaitingBytes) {
      behindSinceMs.delete(reader);
      return false;
    }
    const sinceMs = behindSinceMs.get(reader) ?? nowMs;
    behindSinceMs.set(reader, sinceMs);
    return waitingBytes > NEVER_MORE_THAN * maxWaitingBytes || nowMs - sinceMs >= patienceMs;
  };
}
