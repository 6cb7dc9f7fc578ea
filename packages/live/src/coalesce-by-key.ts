interface CoalesceOptions<T> {
  readonly gapMs: number;
  readonly keyOf: (value: T) => string;
  /** Whether `next` says something newer than `held`. */
  readonly supersedes: (next: T, held: T) => boolean;
  readonly send: (value: T) => void;
}

export interface Coalescer<T> {
  readonly offer: (value: T) => void;
  /** Forgets what waits. */
  readonly stop: () => void;
}

/**
 * Sends values of one key at most once in every gap: the first at once, then the newest of those that came meanwhile.
 * One that is not newer than what was sent last is not sent.
 */
export function coalesceByKey<T>({
  gapMs,
  keyOf,
  supersedes,
  send,
}: CoalesceOptions<T>): Coalescer<T> {
  interface Slot {
    sent: T;
    waiting: T | undefined;
    timer: NodeJS.Timeout;
  }
  const slots = new Map<string, Slot>();

  const rest = (key: string, slot: Slot): void => {
    slot.timer = setTimeout(() => {
      const { waiting } = slot;
      if (waiting === undefined) {
        slots.delete(key);
        return;
      }
      slot.sent = waiting;
      slot.waiting = undefined;
      rest(key, slot);
      send(waiting);
    }, gapMs);
    slot.timer.unref();
  };

  return {
    offer(value) {
      const key = keyOf(value);
      const slot = slots.get(key);
      if (slot !== undefined) {
        if (supersedes(value, slot.waiting ?? slot.sent)) slot.waiting = value;
        return;
      }
      const opened = { sent: value, waiting: undefined, timer: undefined } as unknown as Slot;
      slots.set(key, opened);
      rest(key, opened);
      send(value);
    },
    stop() {
      for (const { timer } of slots.values()) clearTimeout(timer);
      slots.clear();
    },
  };
}
