import type { Lane, MessagePlace, NodeName } from '@duskline/domain';
import { decodeAck, topicFor } from '@duskline/wire';
import mqtt, { type MqttClient } from 'mqtt';

/** One node's line to the broker: everything sent is kept until the server says that it is committed. */
export interface NodeLink {
  readonly send: (message: { lane: Lane; place: MessagePlace; payload: Uint8Array }) => void;
  /** Retained words: hello and farewell. */
  readonly say: (payload: Uint8Array) => void;
  readonly unacknowledged: () => number;
  /** Resolves when fewer than `limit` messages wait for their acknowledgement. */
  readonly room: (limit: number) => Promise<void>;
  readonly close: () => Promise<void>;
}

interface Pending {
  readonly lane: Lane;
  readonly place: MessagePlace;
  readonly payload: Uint8Array;
}

/** Without an acknowledgement for so long, everything kept is sent again. */
const RESEND_MS = 15_000;

export function openNodeLink(options: {
  readonly url: string;
  readonly node: NodeName;
  readonly secret: string;
  readonly onFirstConnect: () => void;
  readonly onFault: (reason: string) => void;
}): NodeLink {
  const { node } = options;
  const pending: Pending[] = [];
  let waiting: { readonly limit: number; readonly go: () => void }[] = [];
  let listening = false;
  let connects = 0;
  let heardAtMs = Date.now();

  const client: MqttClient = mqtt.connect(options.url, {
    clientId: node,
    username: node,
    password: options.secret,
    protocolVersion: 4,
    // The broker keeps the session, so that acknowledgements sent meanwhile are not lost.
    clean: false,
    keepalive: 60,
    reconnectPeriod: 1000 + (node.length % 7) * 150,
    queueQoSZero: false,
  });
  const publish = (message: Pending) => {
    client.publish(topicFor(node, message.lane), Buffer.from(message.payload), { qos: 1 });
  };
  const publishAll = () => {
    heardAtMs = Date.now();
    if (listening) for (const message of pending) publish(message);
  };
  client.on('connect', () => {
    // First the ear, then the mouth: an acknowledgement nobody listens for is lost.
    client.subscribe(topicFor(node, 'ack'), { qos: 1 }, (fault) => {
      if (fault) return options.onFault(`${node}: ${fault.message}`);
      listening = true;
      publishAll();
      connects += 1;
      if (connects === 1) options.onFirstConnect();
    });
  });
  client.on('close', () => {
    listening = false;
  });
  // An acknowledgement can be lost with its connection; what was committed already is only acknowledged again.
  const resending = setInterval(() => {
    if (pending.length > 0 && Date.now() - heardAtMs > RESEND_MS) publishAll();
  }, RESEND_MS / 3);
  client.on('error', (cause) => options.onFault(`${node}: ${cause.message}`));
  client.on('message', (_topic, bytes) => {
    const ack = decodeAck(bytes);
    if (!ack.ok) return;
    heardAtMs = Date.now();
    for (let i = pending.length - 1; i >= 0; i--) {
      const { place } = pending[i] as Pending;
      if (place.boot === ack.value.boot && place.seq <= ack.value.seq) pending.splice(i, 1);
    }
    const ready = waiting.filter(({ limit }) => pending.length < limit);
    waiting = waiting.filter(({ limit }) => pending.length >= limit);
    for (const { go } of ready) go();
  });

  return {
    send(message) {
      pending.push(message);
      if (listening) publish(message);
    },
    say(payload) {
      client.publish(topicFor(node, 'state'), Buffer.from(payload), { qos: 1, retain: true });
    },
    unacknowledged: () => pending.length,
    room: (limit) =>
      pending.length < limit
        ? Promise.resolve()
        : new Promise((go) => {
            waiting.push({ limit, go });
          }),
    close: () => {
      clearInterval(resending);
      return client.endAsync();
    },
  };
}
