import type { NodeName, Packet } from '@duskline/domain';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { once } from 'node:events';
import {
  startEmbeddedBroker,
  type EmbeddedBroker,
  type EmbeddedBrokerOptions,
  type Refusal,
} from '../index.ts';

export const rushy = 'rushy-sluice' as NodeName;
export const tarn = 'tarn-gill' as NodeName;

const secrets: Readonly<Record<string, string>> = {
  [rushy]: 'secret-of-rushy',
  [tarn]: 'secret-of-tarn',
};

const silent = { info: () => undefined, warn: () => undefined, error: () => undefined };

export interface Received {
  readonly topic: string;
  readonly text: string;
  readonly from: NodeName;
}

/** The real broker on a loopback port, with mqtt.js as its nodes. */
export class BrokerUnderTest {
  readonly received: Received[] = [];
  readonly refused: Refusal[] = [];
  private readonly clients: MqttClient[] = [];
  private running: EmbeddedBroker | undefined;
  /** What becomes of a message; tests replace it. */
  receive: (packet: Packet, from: NodeName) => Promise<void> = (packet, from) =>
    this.record(packet, from);

  get broker(): EmbeddedBroker {
    if (this.running === undefined) throw new Error('The broker is not started.');
    return this.running;
  }

  async record({ topic, payload }: Packet, from: NodeName): Promise<void> {
    this.received.push({ topic, text: Buffer.from(payload).toString(), from });
  }

  texts(): string[] {
    return this.received.map(({ text }) => text);
  }

  /** Starts it, in place of the one that may be running. */
  async start(over: Partial<EmbeddedBrokerOptions> = {}): Promise<void> {
    await this.running?.close();
    this.running = await this.another(over);
  }

  another(over: Partial<EmbeddedBrokerOptions>): Promise<EmbeddedBroker> {
    return startEmbeddedBroker({
      port: 0,
      host: '127.0.0.1',
      verifySecret: async (name, secret) => secrets[name] === Buffer.from(secret).toString(),
      receive: (packet, from) => this.receive(packet, from),
      log: silent,
      onRefused: (refusal) => this.refused.push(refusal),
      ...over,
    });
  }

  async stop(): Promise<void> {
    await Promise.all(this.clients.map((client) => client.endAsync(true)));
    await this.running?.close();
  }

  open(node: string, over: IClientOptions = {}): MqttClient {
    const client = mqtt.connect({
      host: '127.0.0.1',
      port: this.broker.port,
      protocolVersion: 4,
      clientId: node,
      username: node,
      password: secrets[node] ?? 'none',
      reconnectPeriod: 0,
      ...over,
    });
    client.on('error', () => undefined);
    this.clients.push(client);
    return client;
  }

  async connected(node: string, over: IClientOptions = {}): Promise<MqttClient> {
    const client = this.open(node, over);
    await next(client, 'connect');
    return client;
  }

  /** The CONNACK return code a connection is refused with. */
  async refusalCode(node: string, over: IClientOptions = {}): Promise<number> {
    const [error] = await next<[Error & { code: number }]>(this.open(node, over), 'error');
    return error.code;
  }
}

/** The next event of that kind; rejects when an error comes first. */
export const next = <T extends unknown[]>(client: MqttClient, event: string): Promise<T> =>
  once(client as unknown as NodeJS.EventEmitter, event) as Promise<T>;

export const closed = (client: MqttClient): Promise<void> =>
  new Promise((resolve) => client.once('close', resolve));
