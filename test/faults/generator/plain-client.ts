import mqtt from 'mqtt';

export interface PlainMessage {
  readonly topic: string;
  readonly payload: Buffer;
}

/** Publishes whatever it is given, `inFlight` at a time, and waits for each PUBACK; comes back after breaks. */
export interface PlainClient {
  readonly publishAll: (
    count: number,
    make: (i: number) => PlainMessage | Promise<PlainMessage>,
  ) => Promise<void>;
  readonly close: () => Promise<void>;
}

export function plainClient(options: {
  readonly url: string;
  readonly node: string;
  readonly secret: string;
  readonly inFlight: number;
}): PlainClient {
  const { url, node, secret, inFlight } = options;
  const client = mqtt.connect(url, {
    clientId: node,
    username: node,
    password: secret,
    protocolVersion: 4,
    clean: true,
    reconnectPeriod: 200,
  });
  client.on('error', () => undefined);
  return {
    async publishAll(count, make) {
      let next = 0;
      const work = async () => {
        while (next < count) {
          const { topic, payload } = await make(next++);
          await client.publishAsync(topic, payload, { qos: 1 });
        }
      };
      await Promise.all(Array.from({ length: inFlight }, work));
    },
    close: () => client.endAsync(true),
  };
}
