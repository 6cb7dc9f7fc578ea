import { MINUTE_MS, SECOND_MS, type NodeName } from '@duskline/domain';
import { encodeDropped, topicFor } from '@duskline/wire';
import mqtt, { type MqttClient } from 'mqtt';

export interface BrokerLineOptions {
  readonly node: NodeName;
  readonly broker: string;
  readonly secret: string;
  /** Certificate authority of the broker, PEM, when it is not one the system knows. */
  readonly ca?: string | undefined;
  readonly onUp: () => void;
  readonly onDown: () => void;
  readonly onAck: (bytes: Uint8Array) => void;
  readonly onSettings: (bytes: Uint8Array) => void;
  readonly onFault: (reason: string) => void;
}

/** The line to the broker: comes back by itself, and remembers nothing of what was on its way when it broke. */
export interface BrokerLine {
  readonly connected: () => boolean;
  /** Resolves with true when the broker has taken it (PUBACK), with false when the line broke first. */
  readonly publish: (
    topic: string,
    payload: Uint8Array,
    options: { readonly retain: boolean },
  ) => Promise<boolean>;
  /** Hangs up in good order, so that the will is not delivered; by force after `withinMs`. */
  readonly close: (withinMs: number) => Promise<void>;
}

const FIRST_WAIT_MS = SECOND_MS;
const LONGEST_WAIT_MS = MINUTE_MS;
/** A line that held so long was a good one: the next attempt after it does not wait for long. */
const GOOD_FOR_MS = MINUTE_MS / 2;

/**
 * A client of its own for every connection: mqtt.js would send again what was on its way, and so do we from the spool, which
 * is the one place where messages wait. The session is persistent, so acknowledgements given meanwhile are waiting.
 */
export function openBrokerLine(options: BrokerLineOptions): BrokerLine {
  let client: MqttClient | undefined;
  let upSinceMs: number | undefined;
  let failures = 0;
  let timer: NodeJS.Timeout | undefined;
  let closed = false;

  function dial(): void {
    const dialled = mqtt.connect(options.broker, connectOptions(options));
    client = dialled;
    dialled.on('connect', () => {
      upSinceMs = Date.now();
      dialled.subscribe([topicFor(options.node, 'ack'), topicFor(options.node, 'settings')], {
        qos: 1,
      });
      options.onUp();
    });
    dialled.on('message', (topic, bytes) => {
      if (topic === topicFor(options.node, 'ack')) options.onAck(bytes);
      if (topic === topicFor(options.node, 'settings')) options.onSettings(bytes);
    });
    dialled.on('error', (cause) => {
      options.onFault(faultOf(cause));
      // A broker that refuses should hang up, but not every one does.
      dialled.end(true);
    });
    dialled.once('close', () => {
      dialled.end(true);
      const wasUp = upSinceMs !== undefined;
      failures = upSinceMs !== undefined && Date.now() - upSinceMs > GOOD_FOR_MS ? 1 : failures + 1;
      upSinceMs = undefined;
      if (wasUp) options.onDown();
      if (!closed) timer = setTimeout(dial, waitMs(failures));
    });
  }
  dial();

  return {
    connected: () => client?.connected === true && !closed,
    publish: (topic, payload, { retain }) =>
      new Promise((resolve) => {
        if (client?.connected !== true) return resolve(false);
        client.publish(topic, Buffer.from(payload), { qos: 1, retain }, (cause) =>
          resolve(cause === undefined || cause === null),
        );
      }),
    async close(withinMs) {
      if (closed) return;
      closed = true;
      clearTimeout(timer);
      if (client === undefined) return;
      const late = new Promise((resolve) => setTimeout(resolve, withinMs).unref());
      if (client.connected) await Promise.race([client.endAsync(), late]);
      if (!client.disconnected) client.end(true);
    },
  };
}

const connectOptions = ({ node, secret, ca }: BrokerLineOptions) => ({
  clientId: node,
  username: node,
  password: secret,
  protocolVersion: 4 as const,
  clean: false,
  keepalive: 60,
  connectTimeout: 20 * SECOND_MS,
  reconnectPeriod: 0,
  ...(ca === undefined ? {} : { ca }),
  will: {
    topic: topicFor(node, 'state'),
    payload: Buffer.from(encodeDropped(node)),
    qos: 1 as const,
    retain: true,
  },
});

/** Twice as long each time, by chance between half of that and the whole: a fleet does not come back in one instant. */
function waitMs(failures: number): number {
  const longest = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(failures - 1, 10));
  return longest * (0.5 + Math.random() / 2);
}

/** CONNACK return codes 4 and 5 of MQTT 3.1.1, §3.2.2.3. */
const REFUSED: readonly unknown[] = [4, 5];

function faultOf(cause: Error): string {
  const code: unknown = 'code' in cause ? cause.code : undefined;
  if (REFUSED.includes(code))
    return 'the broker refuses the name or the secret; if a new secret was made in Setup, put it into the secret file';
  const why = cause.message === '' && typeof code === 'string' ? code : cause.message;
  return `no line to the broker: ${why}`;
}
