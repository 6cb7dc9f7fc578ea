import { MINUTE_MS, SECOND_MS, type NodeName, type Packet } from '@duskline/domain';
import { topicFor } from '@duskline/wire';
import { Aedes, type AedesOptions, type Client } from 'aedes';
import type { Socket } from 'node:net';
import { setImmediate as nextTurn, setTimeout as sleep } from 'node:timers/promises';
import { mayReceive, whyNotSubscribe } from './access-rules.ts';
import type { BrokerLog } from './broker-log.ts';
import { addressOf, createConnectionGate } from './connection-gate.ts';
import { createInbox } from './inbox.ts';
import { listenForNodes } from './node-listener.ts';
import { keepRoster } from './node-roster.ts';
import { limitPackets, MAX_PACKET_BYTES } from './packet-limit.ts';
import { createRefusalLedger, type RefusalLedger } from './refusal-ledger.ts';
import { Refused, type Refusal, type RefusalCode } from './refusal.ts';
import { guardSessions, type SessionStore } from './session-guard.ts';

const MAX_CONNECTIONS = 2000;
const CONNECT_WITHIN_MS = 10 * SECOND_MS;
/** A node that does not read what it is sent for so long is let go. */
const DRAIN_WITHIN_MS = MINUTE_MS;
/** What came with a CONNECT before it is answered; bounded by one read of the socket anyway. */
const EARLY_PACKETS = 1000;
const TOPIC_LEVELS = 10;
const SETTLE_WITHIN_MS = 5 * SECOND_MS;
const AT_LEAST_ONCE = 1;

export interface EmbeddedBrokerOptions {
  /** 0 takes any free port. */
  readonly port: number;
  readonly host: string;
  /** Is this the node's secret? Rejects when that cannot be told now. */
  readonly verifySecret: (name: NodeName, secret: Uint8Array) => Promise<boolean>;
  /** Resolves once the message is committed; rejects when it must not be acknowledged. */
  readonly receive: (packet: Packet, from: NodeName) => Promise<void>;
  readonly log: BrokerLog;
  /** Told of everything the broker did not do, e.g. to keep a note of a packet that was too large. */
  readonly onRefused?: (refusal: Refusal) => void;
  readonly maxConnections?: number;
  readonly maxPacketBytes?: number;
  readonly now?: () => number;
}

export interface EmbeddedBroker {
  readonly port: number;
  /** Sends a node the word on what is committed; queued for a node that is away but keeps its session. */
  readonly publishAck: (node: NodeName, bytes: Uint8Array) => void;
  readonly publish: (
    topic: string,
    bytes: Uint8Array,
    options: { readonly retain: boolean },
  ) => void;
  /** Ends the connection of a node, e.g. because its secret was withdrawn. Its will is not delivered. */
  readonly disconnectNode: (name: NodeName) => void;
  readonly connectedNodes: () => readonly NodeName[];
  /** How often each kind of refusal has happened since the start. */
  readonly refusals: () => Readonly<Partial<Record<RefusalCode, number>>>;
  /** Takes nothing more, answers what it has taken (for at most 5 s), and closes every connection. */
  readonly close: () => Promise<void>;
}

/**
 * Starts the MQTT 3.1.1 broker inside this process.
 *
 * @throws BrokerStartError when the port cannot be opened
 */
export async function startEmbeddedBroker(options: EmbeddedBrokerOptions): Promise<EmbeddedBroker> {
  const { log, now = Date.now, maxConnections = MAX_CONNECTIONS } = options;
  const refusals = createRefusalLedger({ ...options, now });
  const inbox = createInbox({ ...options, refusals, now });
  const aedes = await createAedes({
    ...createConnectionGate({ ...options, refusals, now }),
    authorizePublish: inbox.authorizePublish,
    ...subscriptionRules(refusals),
  });
  const roster = keepRoster(aedes);
  reportErrors({ aedes, log, refusals, nodeOf: roster.nodeOf });
  const closeAedes = () => new Promise<void>((resolve) => aedes.close(resolve));

  function onConnection(socket: Socket): void {
    const client = aedes.handle(socket);
    const { maxPacketBytes = MAX_PACKET_BYTES } = options;
    limitPackets(socket, {
      maxBytes: maxPacketBytes,
      onOversize(packet) {
        inbox.sever(client);
        const node = roster.nodeOf(client);
        const reason =
          `${node ?? 'A client'} sent a packet of ${packet.bytes} bytes; at most ` +
          `${maxPacketBytes} are taken. Split it into smaller messages.`;
        const who = { address: addressOf(client), ...(node === undefined ? {} : { node }) };
        refusals.note({ code: 'packet-too-large', reason, ...packet, ...who });
      },
    });
  }

  const listener = await listenForNodes({
    ...options,
    maxConnections,
    onConnection,
    onTurnedAway(address) {
      const reason = `All ${maxConnections} connections are taken; one more was turned away.`;
      refusals.note({ code: 'connections-full', reason, address });
    },
  }).catch(async (cause: unknown) => {
    await closeAedes();
    throw cause;
  });

  const publish: EmbeddedBroker['publish'] = (topic, bytes, { retain }) => {
    const payload = Buffer.from(bytes);
    aedes.publish(
      { cmd: 'publish', topic, payload, qos: AT_LEAST_ONCE, retain, dup: false },
      (cause) => {
        if (cause) log.error({ cause, topic }, 'A message could not be sent.');
      },
    );
  };

  return {
    port: listener.port,
    publish,
    publishAck: (node, bytes) => publish(topicFor(node, 'ack'), bytes, { retain: false }),
    disconnectNode(name) {
      const client = roster.of(name);
      if (client === undefined) return;
      inbox.sever(client);
      client.close();
    },
    connectedNodes: roster.names,
    refusals: refusals.counts,
    async close() {
      listener.stopListening();
      await Promise.race([inbox.close(), sleep(SETTLE_WITHIN_MS, undefined, { ref: false })]);
      await nextTurn(); // the last PUBACKs are written at the end of this turn
      roster.clients().forEach(inbox.sever);
      await closeAedes();
      await listener.close();
    },
  };
}

async function createAedes(rules: AedesOptions): Promise<Aedes> {
  const aedes = await Aedes.createBroker({
    ...rules,
    connectTimeout: CONNECT_WITHIN_MS,
    drainTimeout: DRAIN_WITHIN_MS,
    queueLimit: EARLY_PACKETS,
    maxTopicLevels: TOPIC_LEVELS,
  });
  guardSessions((aedes as unknown as { readonly persistence: SessionStore }).persistence);
  return aedes;
}

const subscriptionRules = (
  refusals: RefusalLedger,
): Pick<AedesOptions, 'authorizeSubscribe' | 'authorizeForward'> => ({
  authorizeSubscribe(client, subscription, answer) {
    const node = client.id as NodeName;
    const { topic } = subscription;
    const reason = whyNotSubscribe(node, topic);
    if (reason === undefined) return answer(null, subscription);
    refusals.note({ code: 'subscribe-foreign', reason, node, topic });
    return answer(null, null);
  },
  authorizeForward: (client, packet) =>
    mayReceive(client.id as NodeName, packet.topic) ? packet : null,
});

/** What aedes says of connections that ended badly. Without a listener its `error` would end the process. */
function reportErrors(options: {
  readonly aedes: Aedes;
  readonly log: BrokerLog;
  readonly refusals: RefusalLedger;
  readonly nodeOf: (client: Client) => NodeName | undefined;
}): void {
  const { aedes, log, refusals, nodeOf } = options;
  const onClientError = (client: Client, error: Error) => {
    if (!isFaultOfPacket(error)) return;
    const node = nodeOf(client);
    refusals.note({
      code: 'packet-malformed',
      reason: `A connection was closed because of what it sent: ${error.message}.`,
      address: addressOf(client),
      ...(node === undefined ? {} : { node }),
    });
  };
  aedes.on('clientError', onClientError);
  aedes.on('connectionError', onClientError);
  (aedes as NodeJS.EventEmitter).on('error', (cause: unknown) => {
    log.error({ cause }, 'The broker met an error of its own.');
  });
}

const linkTroubles =
  /keep ?alive|drain timeout|connect did not arrive|connection closed|premature close/i;

/** Not what was refused and noted already, nor what happens on every radio link. */
const isFaultOfPacket = (error: Error): boolean =>
  !(error instanceof Refused) && !('code' in error) && !linkTroubles.test(error.message);
