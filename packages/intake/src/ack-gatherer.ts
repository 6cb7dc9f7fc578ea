import type { MessagePlace, NodeName } from '@duskline/domain';

export interface AckGatherer {
  /** Everything of that boot up to this place is committed: the node is to know soon. */
  readonly add: (node: NodeName, place: MessagePlace) => void;
  /** Sends what is pending now. */
  readonly flush: () => void;
}

/**
 * Gathers the words on what is committed, so that a node that catches up on a month is not told of every message: an ack
 * counts for all before it, so at most one is pending for each boot of a node, and it goes out a moment after the first.
 *
 * @param send  takes the word away; what it throws is handed to `onTrouble`
 * @param gapMs how long an ack may wait for a later one
 */
export function createAckGatherer(options: {
  readonly send: (node: NodeName, place: MessagePlace) => void;
  readonly gapMs: number;
  readonly onTrouble: (cause: unknown) => void;
}): AckGatherer {
  const { send, gapMs, onTrouble } = options;
  let pending = new Map<string, { readonly node: NodeName; readonly place: MessagePlace }>();
  let timer: NodeJS.Timeout | undefined;

  function flush(): void {
    clearTimeout(timer);
    timer = undefined;
    const due = pending;
    pending = new Map();
    for (const { node, place } of due.values()) {
      try {
        send(node, place);
      } catch (cause) {
        onTrouble(cause);
      }
    }
  }

  return {
    flush,
    add(node, place) {
      const key = `${node} ${place.boot}`;
      const before = pending.get(key);
      if (before !== undefined && before.place.seq >= place.seq) return;
      pending.set(key, { node, place });
      timer ??= setTimeout(flush, gapMs);
    },
  };
}
