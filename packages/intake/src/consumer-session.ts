import type { Packet } from '@duskline/domain';
import mqtt, { type IClientOptions, type IPublishPacket, type MqttClient } from 'mqtt';
import { createPubackQueue } from './puback-queue.ts';

const AT_LEAST_ONCE = 1;
const KEEPALIVE_S = 60;
const CONNECT_WITHIN_MS = 10_000;
/** MQTT 5: do not send retained messages because of a subscription (§3.8.3.1, Retain Handling). */
const NO_RETAINED = 2;
/** A consumer that is away for longer has lost its place; the broker is not to keep its queue for ever. */
const SESSION_EXPIRY_S = 7 * 86_400;
const RECEIVE_MAXIMUM = 2000;
/** CONNACK codes for a protocol the broker does not speak: 3.1.1 §3.2.2.3 and 5 §3.2.2.2. */
const VERSION_REFUSED: readonly unknown[] = [1, 132];

export type ProtocolVersion = 4 | 5;

export interface SessionFilters {
  readonly wanted: readonly string[];
  readonly unwanted: readonly string[];
}

/** How a connection ended. */
export type SessionEnd =
  | { readonly kind: 'link-lost'; readonly cause?: unknown }
  /** The broker does not speak this version of MQTT. */
  | { readonly kind: 'version-refused' }
  /** A message could not be stored, so the connection was ended on purpose. */
  | { readonly kind: 'store-away'; readonly cause: unknown };

export interface SessionOptions {
  readonly url: string;
  readonly clientId: string;
  readonly username: string;
  readonly password: string;
  readonly protocolVersion: ProtocolVersion;
  /** What to subscribe to, and what an earlier life under this name may have subscribed to and is to be let go. */
  readonly filters: SessionFilters;
  readonly receive: (packet: Packet) => Promise<void>;
  readonly now: () => number;
  /** Messages taken and not yet settled; at this many the socket is not read any further. */
  readonly maxUnsettled: number;
  readonly onOpen: (session: ConsumerSession, facts: { readonly sessionKept: boolean }) => void;
  /** A message has been settled and its acknowledgement sent. */
  readonly onSettled: () => void;
}

export interface ConsumerSession {
  readonly ended: Promise<SessionEnd>;
  readonly publish: (topic: string, bytes: Uint8Array, retain: boolean) => void;
  /** Takes nothing more, waits for what was taken, says goodbye. */
  readonly close: (withinMs: number) => Promise<void>;
}

/**
 * One connection to the broker. mqtt.js would acknowledge each message as soon as its handler calls back, and hands over
 * the next one only then; so the handler calls back at once with an error (which skips the PUBACK and nothing else; 5.16,
 * handlers/publish.js), and the PUBACK is written to this very connection when the message is committed. An
 * acknowledgement can thus neither run ahead of its commit nor survive its connection.
 */
export function openConsumerSession(options: SessionOptions): ConsumerSession {
  const client = mqtt.connect(options.url, connectOptions(options));
  const { stream } = client;
  const pubacks = createPubackQueue((bytes) => {
    if (!stream.destroyed) stream.write(bytes);
  });
  let settle: (end: SessionEnd) => void = () => undefined;
  const ended = new Promise<SessionEnd>((resolve) => (settle = resolve));
  let unsettled = 0;
  let goOn: (() => void) | undefined;
  let onQuiet: (() => void) | undefined;
  let closing = false;
  let lastError: unknown;

  function end(how: SessionEnd): void {
    settle(how);
    client.end(true);
  }

  function take(packet: IPublishPacket): void {
    unsettled += 1;
    const acknowledge = packet.qos === 0 ? () => undefined : pubacks.expect(packet.messageId ?? 0);
    receive(options, packet).then(
      () => {
        acknowledge();
        options.onSettled();
        settled();
      },
      (cause: unknown) => {
        end({ kind: 'store-away', cause });
        settled();
      },
    );
  }

  function settled(): void {
    unsettled -= 1;
    if (goOn !== undefined && unsettled <= options.maxUnsettled / 2) {
      const resume = goOn;
      goOn = undefined;
      resume();
    }
    if (unsettled === 0) onQuiet?.();
  }

  client.handleMessage = (packet, callback) => {
    const skipPuback = () => callback(new Error('acknowledged later'));
    // Not taken, so it comes again; what lies behind it is read on: the acknowledgements of our own words.
    if (closing) return skipPuback();
    take(packet);
    if (unsettled < options.maxUnsettled) skipPuback();
    else goOn = skipPuback;
  };
  client.on('error', (cause) => {
    lastError = cause;
    if ('code' in cause && VERSION_REFUSED.includes(cause.code)) end({ kind: 'version-refused' });
  });
  client.on('close', () => end({ kind: 'link-lost', cause: lastError }));

  const session: ConsumerSession = {
    ended,
    publish(topic, bytes, retain) {
      client.publish(topic, Buffer.from(bytes), { qos: AT_LEAST_ONCE, retain }, () => undefined);
    },
    async close(withinMs) {
      closing = true;
      if (unsettled > 0) await within(withinMs, new Promise<void>((quiet) => (onQuiet = quiet)));
      pubacks.flush();
      await within(withinMs, client.endAsync());
      // While an end is waited for, another is none (5.16, client.js): only its stream ends the connection then.
      end({ kind: 'link-lost' });
      stream.destroy();
    },
  };
  client.on('connect', ({ sessionPresent }) => {
    subscribe(client, options, sessionPresent);
    options.onOpen(session, { sessionKept: sessionPresent });
  });
  return session;
}

function connectOptions(options: SessionOptions): IClientOptions {
  const { clientId, username, password, protocolVersion } = options;
  return {
    clientId,
    username,
    password,
    protocolVersion,
    clean: false,
    reconnectPeriod: 0,
    resubscribe: false,
    keepalive: KEEPALIVE_S,
    connectTimeout: CONNECT_WITHIN_MS,
    ...(protocolVersion === 5
      ? {
          properties: {
            sessionExpiryInterval: SESSION_EXPIRY_S,
            receiveMaximum: RECEIVE_MAXIMUM,
          },
        }
      : {}),
  };
}

/**
 * A session that was kept has its subscriptions. To repeat them mends a session whose first SUBSCRIBE was lost, or that is of
 * an earlier version; in 3.1.1 it brings every retained message again, which the receiver passes over. What is new is
 * subscribed to before what is old is let go.
 */
function subscribe(client: MqttClient, options: SessionOptions, kept: boolean): void {
  const { filters, protocolVersion } = options;
  const rh = protocolVersion === 5 ? { rh: NO_RETAINED } : {};
  for (const filter of filters.wanted)
    client.subscribe(filter, { qos: AT_LEAST_ONCE, ...rh }, () => undefined);
  if (kept && filters.unwanted.length > 0)
    client.unsubscribe([...filters.unwanted], () => undefined);
}

function receive(options: SessionOptions, packet: IPublishPacket): Promise<void> {
  const { payload } = packet;
  const contentType = packet.properties?.contentType;
  return options.receive({
    topic: packet.topic,
    payload: typeof payload === 'string' ? Buffer.from(payload) : payload,
    receivedAtMs: options.now(),
    ...(packet.retain ? { retained: true } : {}),
    ...(contentType === undefined ? {} : { contentType }),
  });
}

async function within(ms: number, work: Promise<unknown>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const timeout = new Promise<void>((resolve) => (timer = setTimeout(resolve, ms)));
  await Promise.race([work.catch(() => undefined), timeout]);
  clearTimeout(timer);
}
