import {
  secretMatches,
  startEmbeddedBroker,
  writeMosquittoPassword,
  type Refusal,
} from '@duskline/broker';
import {
  MINUTE_MS,
  type MessageFault,
  type MessagePlace,
  type NodeName,
  type Packet,
  type SettingsRequest,
} from '@duskline/domain';
import { connectSlots } from '@duskline/intake';
import type { Store } from '@duskline/store';
import { encodeAck, encodeSettingsRequest, topicFor } from '@duskline/wire';
import { randomBytes } from 'node:crypto';
import type { Logger } from 'pino';
import type { Config } from './config.ts';

/** The way messages come in and acknowledgements go out: the embedded broker, or a consumer of Mosquitto. */
export interface Line {
  /** Where nodes connect. */
  readonly url: string;
  readonly sendAck: (node: NodeName, place: MessagePlace) => void;
  /** Asks a node for other settings; the broker keeps the latest for it. */
  readonly sendSettings: (node: NodeName, request: SettingsRequest) => void;
  /** Why no message can come, in one sentence; undefined while one can. */
  readonly fault: () => string | undefined;
  /** A node was made or has a new secret. */
  readonly onSecret: (node: NodeName, secret: string) => Promise<void>;
  readonly close: () => Promise<void>;
}

export interface LineDeps {
  readonly store: Store;
  readonly receive: (packet: Packet, from?: NodeName) => Promise<void>;
  readonly log: Logger;
  readonly now: () => number;
  /** The same for every life of this server, and no other's. */
  readonly serverId: string;
}

/** Opens the line that the configuration asks for. */
export function openLine(config: Config, deps: LineDeps): Promise<Line> {
  return config.externalBroker === undefined
    ? openEmbedded(config, deps)
    : openExternal(config.externalBroker, deps);
}

async function openEmbedded(config: Config, { store, receive, log, now }: LineDeps): Promise<Line> {
  const { host } = config.mqtt;
  const broker = await startEmbeddedBroker({
    host,
    port: config.mqtt.port,
    receive,
    log,
    verifySecret: async (name, secret) => secretMatches(secret, await store.nodes.secretHash(name)),
    onRefused: (refusal) => {
      keepRefused(store, refusal, now()).catch((cause: unknown) =>
        log.error({ cause }, 'a refused packet could not be noted'),
      );
    },
  });
  return {
    url: `mqtt://${host === '0.0.0.0' ? '127.0.0.1' : host}:${broker.port}`,
    sendAck: (node, place) => broker.publishAck(node, encodeAck(place)),
    sendSettings: (node, request) =>
      broker.publish(topicFor(node, 'settings'), encodeSettingsRequest(request), { retain: true }),
    fault: () => undefined,
    onSecret: (node) => {
      broker.disconnectNode(node);
      return Promise.resolve();
    },
    close: () => broker.close(),
  };
}

/** A packet that never reached the intake, though a node sent it: it is noted where people look for such things. */
async function keepRefused(store: Store, refusal: Refusal, nowMs: number): Promise<void> {
  if (refusal.node === undefined || refusal.code === 'not-stored') return;
  // Anybody can make up names: they are listed, so many at most, and nothing else is kept of them.
  if ((await store.nodes.findByName(refusal.node)) === undefined)
    return await store.quarantine.noteUnknownNode(refusal.node, nowMs);
  const fault: MessageFault = { code: refusal.code, reason: refusal.reason };
  await store.quarantine.add({
    node: refusal.node,
    fault,
    packet: {
      topic: refusal.topic ?? `v1/${refusal.node}/up`,
      payload: refusal.head ?? new Uint8Array(),
      receivedAtMs: nowMs,
    },
  });
}

type External = NonNullable<Config['externalBroker']>;

/** `ingest-0` is the first of ingest-0, ingest-1 … */
const slotName = (username: string, slot: number): string =>
  `${username.replace(/-\d+$/, '')}-${slot}`;

async function openExternal(
  { url, username, password, passwordFile, slots }: External,
  { store, receive, log, now, serverId }: LineDeps,
): Promise<Line> {
  // Mosquitto starts after its password file is there: the consumers' own lines come first.
  for (let slot = 0; passwordFile !== undefined && slot < slots; slot += 1)
    await writeMosquittoPassword(passwordFile, slotName(username, slot), password);
  // What an earlier life of this server held is free at once, and not only when its leases run out.
  await store.leases.releaseAllOf(`${serverId}:`);
  const sendAck: Line['sendAck'] = (node, place) => consumers.publishAck(node, encodeAck(place));
  const consumers = connectSlots({
    url,
    password,
    slots,
    nameOf: (slot) => slotName(username, slot),
    holder: `${serverId}:${randomBytes(6).toString('hex')}`,
    leases: store.leases,
    receive,
    log,
    onTaken: () => {
      sayCommittedAgain(store, sendAck, now()).catch((cause: unknown) =>
        log.warn(
          { cause },
          'nodes could not be told again what is committed; they ask by sending it again',
        ),
      );
    },
  });
  return {
    url,
    sendAck,
    sendSettings: (node, request) =>
      consumers.publish(topicFor(node, 'settings'), encodeSettingsRequest(request), {
        retain: true,
      }),
    fault: consumers.fault,
    onSecret: async (node, secret) => {
      if (passwordFile !== undefined) await writeMosquittoPassword(passwordFile, node, secret);
      else
        log.warn(
          { node },
          'no password file is configured: put the new secret of the node into Mosquitto by hand',
        );
    },
    close: () => consumers.close(),
  };
}

/** Messages of nodes were heard so lately that a node may still be waiting for the word. */
const WAITED_FOR_MS = 30 * MINUTE_MS;

/**
 * Mosquitto keeps what a killed server had not taken, but not the word it had not said: between a commit and its
 * acknowledgement lie some milliseconds, and the node would wait two minutes before it sends all again.
 */
async function sayCommittedAgain(
  store: Store,
  sendAck: Line['sendAck'],
  nowMs: number,
): Promise<void> {
  for (const { node, place } of await store.samples.committedSince(nowMs - WAITED_FOR_MS))
    sendAck(node, place);
}
