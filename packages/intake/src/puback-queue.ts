const PUBACK = 0x40;
const REST_BYTES = 2;

export interface PubackQueue {
  /** A message has come. @returns to be called once it is committed */
  readonly expect: (messageId: number) => () => void;
  /** Writes what may be written now, instead of at the end of this turn. */
  readonly flush: () => void;
}

/**
 * Acknowledgements in the order in which the messages came [MQTT-4.6.0-2], whatever the order of their commits, and many
 * in one write. A PUBACK of two bytes of packet id is valid in MQTT 3.1.1 (§3.4) and, meaning success, in MQTT 5 (§3.4.2.1).
 */
export function createPubackQueue(write: (bytes: Uint8Array) => void): PubackQueue {
  let expected: { readonly messageId: number; committed: boolean }[] = [];
  let scheduled = false;

  function flush(): void {
    scheduled = false;
    const firstOpen = expected.findIndex(({ committed }) => !committed);
    const due = firstOpen === -1 ? expected : expected.slice(0, firstOpen);
    if (due.length === 0) return;
    expected = expected.slice(due.length);
    write(
      Buffer.concat(
        due.map(({ messageId }) =>
          Buffer.from([PUBACK, REST_BYTES, messageId >> 8, messageId & 0xff]),
        ),
      ),
    );
  }

  return {
    flush,
    expect(messageId) {
      const entry = { messageId, committed: false };
      expected.push(entry);
      return () => {
        entry.committed = true;
        if (scheduled) return;
        scheduled = true;
        setImmediate(flush);
      };
    },
  };
}
