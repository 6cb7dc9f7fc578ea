import { MINUTE_MS, type Lane, type MessagePlace, type NodeName } from '@duskline/domain';
import { decodeAck, encodeDropped, encodeFarewell, encodeHello, topicFor } from '@duskline/wire';
import mqtt from 'mqtt';
import { openSpool, type SpooledMessage } from './spool.ts';

export interface PublisherOptions {
  readonly node: NodeName;
  readonly broker: string;
  readonly secret: string;
  /** Folder for what is not yet acknowledged; it must survive a power cut. */
  readonly spoolDir: string;
  readonly onFault: (reason: string) => void;
}

export interface Publisher {
  readonly boot: number;
  /** Keeps a message and sends it; it is forgotten only when the server says that it is committed. */
  readonly send: (message: {
    readonly lane: Lane;
    readonly note: string;
    readonly encode: (place: MessagePlace) => Uint8Array;
  }) => void;
  /** The note of the newest message ever kept, also from before a crash. */
  readonly lastNote: () => string | undefined;
  readonly connected: () => boolean;
  readonly waiting: () => number;
  /** Says farewell, waits for its acknowledgement (at most `withinMs`), and closes the line. */
  readonly farewell: (reason: string, withinMs: number) => Promise<void>;
  readonly close: () => Promise<void>;
}

/** Without an acknowledgement after this long, everything kept is sent again: the server knows what it has already. */
const RESEND_MS = 2 * MINUTE_MS;

/** A line to Duskline for a script that reads its own sensors: store first, then send, forget last. */
export function openPublisher(options: PublisherOptions): Publisher {
  const { node } = options;
  const spool = openSpool(options.spoolDir);
  let heardAtMs = Date.now();
  const client = mqtt.connect(options.broker, {
    clientId: node,
    username: node,
    password: options.secret,
    protocolVersion: 4,
    clean: false,
    keepalive: 60,
    // Spread over some seconds, so that a fleet does not come back in one instant.
    reconnectPeriod: 2000 + Math.floor(Math.random() * 3000),
    queueQoSZero: false,
    // The spool is the one place where messages wait.
    resubscribe: true,
    will: {
      topic: topicFor(node, 'state'),
      payload: Buffer.from(encodeDropped(node)),
      qos: 1,
      retain: true,
    },
  });
  const publish = ({ lane, payload }: SpooledMessage) => {
    if (client.connected) client.publish(topicFor(node, lane), Buffer.from(payload), { qos: 1 });
  };
  const publishAll = () => {
    for (const message of spool.pending()) publish(message);
    heardAtMs = Date.now();
  };
  client.on('connect', () => {
    client.subscribe(topicFor(node, 'ack'), { qos: 1 });
    client.publish(
      topicFor(node, 'state'),
      Buffer.from(encodeHello({ node, observedAtMs: Date.now() })),
      {
        qos: 1,
        retain: true,
      },
    );
    publishAll();
  });
  client.on('message', (topic, bytes) => {
    if (topic !== topicFor(node, 'ack')) return;
    const ack = decodeAck(bytes);
    if (!ack.ok)
      return options.onFault(`an acknowledgement could not be read: ${ack.fault.reason}`);
    heardAtMs = Date.now();
    spool.acknowledge(ack.value);
  });
  client.on('error', (cause) => options.onFault(cause.message));
  const timer = setInterval(() => {
    if (spool.pending().length > 0 && Date.now() - heardAtMs > RESEND_MS) publishAll();
  }, RESEND_MS / 4);
  const close = async () => {
    clearInterval(timer);
    await client.endAsync(true);
  };

  return {
    boot: spool.boot,
    send(message) {
      publish(spool.add(message));
    },
    lastNote: () => spool.lastNote(),
    connected: () => client.connected,
    waiting: () => spool.pending().length,
    async farewell(reason, withinMs) {
      const said = client.publishAsync(
        topicFor(node, 'state'),
        Buffer.from(encodeFarewell({ node, observedAtMs: Date.now(), reason })),
        { qos: 1, retain: true },
      );
      const late = new Promise((resolve) => setTimeout(resolve, withinMs).unref());
      if (client.connected) await Promise.race([said, late]);
      await close();
    },
    close,
  };
}
