import { SECOND_MS, type Lane, type MessagePlace, type NodeName } from '@duskline/domain';
import { decodeAck, topicFor } from '@duskline/wire';
import mqtt, { type MqttClient } from 'mqtt';

export interface OutgoingMessage {
  readonly lane: Lane;
  readonly place: MessagePlace;
  readonly payload: Uint8Array;
  /** The server says that it is committed. */
  readonly onCommitted: () => void;
}

/** One node's line to the broker: everything sent is kept until the server says that it is committed. */
export interface NodeLink {
  readonly send: (message: OutgoingMessage) => void;
  /** Retained words: hello and farewell. */
  readonly say: (payload: Uint8Array, onTaken: () => void) => void;
  /** A word that is not retained: the answer to a request of settings. */
  readonly answer: (payload: Uint8Array) => void;
  readonly unacknowledged: () => number;
  /** Resolves when fewer than `limit` messages wait for their acknowledgement. */
  readonly room: (limit: number) => Promise<void>;
  /** Hangs up in good order when nothing is on its way; for a node that is dark. */
  readonly rest: () => void;
  /** Comes back from a rest; else does nothing. */
  readonly wake: () => void;
  /** In good order, by force after `withinMs`. */
  readonly close: (withinMs: number) => Promise<void>;
}

/** Without an acknowledgement for so long, everything kept is sent again. */
const RESEND_MS = 15 * SECOND_MS;

export function openNodeLink(options: {
  readonly url: string;
  readonly node: NodeName;
  readonly secret: string;
  readonly onFault: (reason: string) => void;
  /** A request of settings, as it came: now, or kept by the broker until the node was there. */
  readonly onSettings?: (bytes: Uint8Array) => void;
}): NodeLink {
  const { node } = options;
  const pending: OutgoingMessage[] = [];
  let waiting: { readonly limit: number; readonly go: () => void }[] = [];
  let wordsUnderWay = 0;
  let listening = false;
  let wantsRest = false;
  let resting = false;
  let told = false;
  let heardAtMs = Date.now();
  const settingsTopic = topicFor(node, 'settings');

  const client: MqttClient = mqtt.connect(options.url, {
    clientId: node,
    username: node,
    password: options.secret,
    protocolVersion: 4,
    // The broker keeps the session, so that acknowledgements sent meanwhile are not lost.
    clean: false,
    keepalive: 60,
    reconnectPeriod: SECOND_MS + Math.floor(Math.random() * SECOND_MS),
    queueQoSZero: false,
  });
  const publish = ({ lane, payload }: OutgoingMessage) => {
    client.publish(topicFor(node, lane), Buffer.from(payload), { qos: 1 });
  };
  const publishAll = () => {
    heardAtMs = Date.now();
    if (listening) pending.forEach(publish);
  };
  /** Once for each time without a line: twenty nodes without a broker would fill the screen. */
  const tell = (reason: string) => {
    if (!told && !resting) options.onFault(`${node}: ${reason}`);
    told = true;
  };
  const restIfQuiet = () => {
    if (!wantsRest || resting || pending.length > 0 || wordsUnderWay > 0) return;
    resting = true;
    client.end();
  };

  client.on('connect', () => {
    // First the ear, then the mouth: an acknowledgement nobody listens for is lost.
    client.subscribe([topicFor(node, 'ack'), settingsTopic], { qos: 1 }, (fault) => {
      if (fault) return tell(fault.message);
      [listening, told] = [true, false];
      publishAll();
    });
  });
  client.on('close', () => {
    listening = false;
  });
  client.on('error', (cause) => tell(cause.message));
  // An acknowledgement can be lost with its connection; what was committed already is only acknowledged again.
  const resending = setInterval(() => {
    if (pending.length > 0 && Date.now() - heardAtMs > RESEND_MS) publishAll();
  }, RESEND_MS / 3);

  client.on('message', (topic, bytes) => {
    if (topic === settingsTopic) return options.onSettings?.(bytes);
    const ack = decodeAck(bytes);
    if (!ack.ok) return tell(ack.fault.reason);
    heardAtMs = Date.now();
    const { boot, seq } = ack.value;
    const done = pending.filter(({ place }) => place.boot === boot && place.seq <= seq);
    for (const message of done) pending.splice(pending.indexOf(message), 1);
    for (const { onCommitted } of done) onCommitted();
    const ready = waiting.filter(({ limit }) => pending.length < limit);
    waiting = waiting.filter(({ limit }) => pending.length >= limit);
    for (const { go } of ready) go();
    restIfQuiet();
  });

  return {
    send(message) {
      pending.push(message);
      if (listening) publish(message);
    },
    say(payload, onTaken) {
      wordsUnderWay += 1;
      client.publish(
        topicFor(node, 'state'),
        Buffer.from(payload),
        { qos: 1, retain: true },
        (cause) => {
          wordsUnderWay -= 1;
          if (cause) return tell(cause.message);
          onTaken();
          restIfQuiet();
        },
      );
    },
    answer(payload) {
      client.publish(topicFor(node, 'state'), Buffer.from(payload), { qos: 1 });
    },
    unacknowledged: () => pending.length,
    room: (limit) =>
      pending.length < limit
        ? Promise.resolve()
        : new Promise((go) => {
            waiting.push({ limit, go });
          }),
    rest() {
      wantsRest = true;
      restIfQuiet();
    },
    wake() {
      wantsRest = false;
      if (resting) client.reconnect();
      resting = false;
    },
    async close(withinMs) {
      clearInterval(resending);
      if (resting || client.disconnected) return;
      const late = new Promise((resolve) => setTimeout(resolve, withinMs).unref());
      await Promise.race([client.endAsync(), late]);
      if (!client.disconnected) client.end(true);
    },
  };
}
