import type { NodeName } from '@duskline/domain';
import { topicFor } from '@duskline/wire';
import { connectConsumer, type Consumer, type ConsumerOptions } from './consumer.ts';
import { slotFilters } from './slot-filters.ts';
import { keepSlots, type SlotKeeperOptions } from './slot-keeper.ts';

export interface SlotsOptions
  extends
    Omit<SlotKeeperOptions, 'openConsumer'>,
    Omit<ConsumerOptions, 'clientId' | 'username' | 'filters' | 'mayConnect'> {
  /** User name and client id of a slot at the broker. */
  readonly nameOf: (slot: number) => string;
  /** A slot has been taken, and words can go out by it: whoever had it may have died before its own did. */
  readonly onTaken?: () => void;
}

export interface Slots extends Pick<Consumer, 'publish' | 'publishAck'> {
  readonly held: () => readonly number[];
  /** Why no message can come to this server, in one sentence; undefined while one can. */
  readonly fault: () => string | undefined;
  readonly close: () => Promise<void>;
}

/** Words for nodes that are kept while this server holds no slot: one for each topic, the last one. */
const MAX_KEPT_WORDS = 20_000;

/** Takes this server's share of every node's messages from an external broker, beside other servers or alone. */
export function connectSlots(options: SlotsOptions): Slots {
  const { url, nameOf, slots } = options;
  const kept = new Map<string, readonly [bytes: Uint8Array, retain: boolean]>();

  const keeper = keepSlots({
    ...options,
    async openConsumer(slot, mayConnect) {
      const name = nameOf(slot);
      const filters = slotFilters(slot, slots);
      const consumer = await connectConsumer({
        ...options,
        clientId: name,
        username: name,
        filters,
        mayConnect,
      });
      for (const [topic, [bytes, retain]] of kept) consumer.publish(topic, bytes, { retain });
      kept.clear();
      options.onTaken?.();
      return consumer;
    },
  });

  /** By any connection that is open; else one that will be keeps the word. */
  const publish: Slots['publish'] = (topic, bytes, { retain }) => {
    const consumers = keeper.consumers();
    const speaker = consumers.find((consumer) => consumer.connected()) ?? consumers[0];
    if (speaker !== undefined) return speaker.publish(topic, bytes, { retain });
    if (kept.size < MAX_KEPT_WORDS || kept.has(topic)) kept.set(topic, [bytes, retain]);
  };

  return {
    held: keeper.held,
    publish,
    publishAck: (node: NodeName, bytes) => publish(topicFor(node, 'ack'), bytes, { retain: false }),
    fault() {
      const consumers = keeper.consumers();
      if (consumers.length === 0) {
        return keeper.servers() > slots
          ? undefined // more servers than slots: this one stands by
          : 'This server holds no slot at the broker yet.';
      }
      return consumers.every((consumer) => consumer.connected())
        ? undefined
        : `The broker at ${url} does not answer.`;
    },
    close: keeper.close,
  };
}
