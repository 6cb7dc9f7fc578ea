import { SECOND_MS, type NodeName, type Packet } from '@duskline/domain';
import { topicFor } from '@duskline/wire';
import { setTimeout as sleep } from 'node:timers/promises';
import { backOffMs } from './back-off.ts';
import {
  openConsumerSession,
  type ConsumerSession,
  type ProtocolVersion,
  type SessionFilters,
  type SessionEnd,
} from './consumer-session.ts';
import type { IntakeLog } from './intake-log.ts';

const EVERYTHING: SessionFilters = { wanted: ['v1/+/up/#'], unwanted: [] };
const ASK_AGAIN_MS = 250;
/** What two batches of the receiver hold, twice over. */
const MAX_UNSETTLED = 4000;
const CLOSE_WITHIN_MS = 5 * SECOND_MS;
/** Words for nodes that are kept while there is no connection: one for each topic, the last one. */
const MAX_KEPT_WORDS = 20_000;

export interface ConsumerOptions {
  /** e.g. `mqtt://mosquitto:1883` */
  readonly url: string;
  /** Fixed: the broker keeps the queue of this consumer under it. With Mosquitto it is the user name. */
  readonly clientId: string;
  readonly username: string;
  readonly password: string;
  /** Resolves once the message is committed; rejects when it must not be acknowledged. */
  readonly receive: (packet: Packet) => Promise<void>;
  /** Topic filters; every message of every node when absent. */
  readonly filters?: SessionFilters;
  /** May it connect now? Asked before each attempt; absent: always. */
  readonly mayConnect?: () => boolean;
  readonly log: IntakeLog;
  readonly now?: () => number;
  readonly maxUnsettled?: number;
}

export interface Consumer {
  /** Is there a connection on which messages can come? */
  readonly connected: () => boolean;
  /** Tells a node what is committed; while there is no connection the last word for each node is kept. */
  readonly publishAck: (node: NodeName, bytes: Uint8Array) => void;
  readonly publish: (
    topic: string,
    bytes: Uint8Array,
    options: { readonly retain: boolean },
  ) => void;
  /** Takes nothing more, acknowledges what it has stored (for at most 5 s), and says goodbye. Its session stays. */
  readonly close: (withinMs?: number) => Promise<void>;
}

/**
 * Takes every node's messages from an external broker, and acknowledges each after its commit. While the store is away
 * there is no connection: the broker keeps the messages, and none is read only to be thrown away.
 *
 * Resolves at once, and goes on trying: the broker may come after the server.
 *
 * @throws TypeError when the address is not one of a broker
 */
export async function connectConsumer(options: ConsumerOptions): Promise<Consumer> {
  const { log, now = Date.now, maxUnsettled = MAX_UNSETTLED, filters = EVERYTHING } = options;
  const mayConnect = options.mayConnect ?? (() => true);
  if (!/^(mqtts?|wss?):$/.test(new URL(options.url).protocol)) {
    throw new TypeError(
      `The address of a broker begins with mqtt:// or mqtts://; ${options.url} does not.`,
    );
  }
  const stopping = new AbortController();
  const kept = new Map<string, { readonly bytes: Uint8Array; readonly retain: boolean }>();
  let open: ConsumerSession | undefined;
  let current: ConsumerSession | undefined;
  let protocolVersion: ProtocolVersion = 5;
  let failures = 0;

  function onOpen(session: ConsumerSession, { sessionKept }: { readonly sessionKept: boolean }) {
    open = session;
    log.info(
      { sessionKept, protocolVersion },
      sessionKept
        ? 'Connected to the broker; it has kept what came meanwhile.'
        : 'Connected to the broker, which has kept nothing for this server: this is its first visit, or the broker ' +
            'has lost its data. Nodes that wait for their ack send again what is missing.',
    );
    for (const [topic, { bytes, retain }] of kept) session.publish(topic, bytes, retain);
    kept.clear();
  }

  async function run(): Promise<void> {
    while (!stopping.signal.aborted) {
      if (!mayConnect()) {
        await sleep(ASK_AGAIN_MS, undefined, { signal: stopping.signal }).catch(() => undefined);
        continue;
      }
      current = openConsumerSession({
        ...options,
        filters,
        protocolVersion,
        now,
        maxUnsettled,
        onOpen,
        onSettled: () => (failures = 0),
      });
      const end = await current.ended;
      open = undefined;
      if (stopping.signal.aborted) return;
      if (end.kind === 'version-refused' && protocolVersion === 5) {
        protocolVersion = 4;
        continue;
      }
      failures += 1;
      const pauseMs = backOffMs(failures, Math.random());
      report(log, end, pauseMs);
      await sleep(pauseMs, undefined, { signal: stopping.signal }).catch(() => undefined);
    }
  }

  const running = run();
  const publish: Consumer['publish'] = (topic, bytes, { retain }) => {
    if (open !== undefined) return open.publish(topic, bytes, retain);
    if (kept.size < MAX_KEPT_WORDS || kept.has(topic)) kept.set(topic, { bytes, retain });
  };

  return {
    connected: () => open !== undefined,
    publish,
    publishAck: (node, bytes) => publish(topicFor(node, 'ack'), bytes, { retain: false }),
    async close(withinMs = CLOSE_WITHIN_MS) {
      stopping.abort();
      await current?.close(withinMs);
      await running;
    },
  };
}

function report(log: IntakeLog, end: SessionEnd, pauseMs: number): void {
  const facts = { pauseMs: Math.round(pauseMs), cause: 'cause' in end ? end.cause : undefined };
  switch (end.kind) {
    case 'store-away':
      return log.warn(
        facts,
        'The store takes no messages, so the broker keeps them: disconnected on purpose, and back soon.',
      );
    case 'version-refused':
      return log.error(facts, 'The broker speaks neither MQTT 5 nor 3.1.1.');
    case 'link-lost':
      return log.warn(
        facts,
        'The connection to the broker is lost, or none came about; trying again.',
      );
  }
}
