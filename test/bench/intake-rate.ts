import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { hashSecret, newNodeSecret, secretMatches, startEmbeddedBroker } from '@duskline/broker';
import { parseNodeName, type NodeId, type NodeName, type SiteId } from '@duskline/domain';
import { createReceiver } from '@duskline/intake';
import type { Store } from '@duskline/store';
import { decodeMessage, encodeAck, resolveMessage } from '@duskline/wire';
import { inflate } from '../../apps/server/src/inflate.ts';
import { loadMetrics } from './load-shape.ts';
import type { LoadOrder } from './publish-load.ts';

export interface IntakeFigures {
  readonly readings: number;
  readonly seconds: number;
  readonly megabytesRss: number;
}

export interface BenchNode {
  readonly id: NodeId;
  readonly name: string;
  readonly secret: string;
}

/** Puts nodes up for the bench. */
export async function makeBenchNodes(
  store: Store,
  count: number,
  stem = 'bench',
): Promise<readonly BenchNode[]> {
  const nodes: BenchNode[] = [];
  for (let i = 0; i < count; i++) {
    const id = `${stem}-site-${i}` as SiteId;
    await store.sites.create({
      id,
      name: `Bench site ${i}`,
      position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 100 },
      timeZone: 'Europe/London',
      access: '',
      hazards: '',
    });
    const name = parseNodeName(`${stem}-node-${i}`) as NodeName;
    const secret = newNodeSecret();
    const node = await store.nodes.create(
      {
        name,
        siteId: id,
        commissionedAtMs: Date.now(),
        power: {
          panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
          battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
          charger: 'mppt',
          shutDownRatio: 0.1,
          restartRatio: 0.5,
          offStateDrawW: 0.1,
          usualGapS: 30,
        },
      },
      hashSecret(secret),
    );
    nodes.push({ id: node.id, name, secret });
  }
  return nodes;
}

/**
 * Readings a second through the embedded broker, the receiver and the store, PUBACK after commit, publishers in a process of
 * their own on the same two cores.
 */
export async function measureIntake(
  store: Store,
  nodes: readonly BenchNode[],
  order: Omit<LoadOrder, 'url' | 'nodes'>,
): Promise<IntakeFigures> {
  let sendAck: (node: NodeName, bytes: Uint8Array) => void = () => undefined;
  const receiver = createReceiver({
    decode: (packet) => decodeMessage(packet, { inflate }),
    resolve: resolveMessage,
    accept: (messages) => store.samples.accept(messages),
    quarantine: ([bad]) => {
      throw new Error(`quarantined: ${bad?.fault.reason ?? ''}`);
    },
    sendAck: (node, place) => sendAck(node, encodeAck(place)),
    onStored: () => undefined,
    clock: { now: () => Date.now() },
  });
  const quiet = () => undefined;
  const broker = await startEmbeddedBroker({
    port: 0,
    host: '127.0.0.1',
    receive: receiver.receive,
    log: {
      info: quiet,
      warn: quiet,
      error: (_facts, sentence) => process.stderr.write(`${sentence}\n`),
    },
    verifySecret: async (name, secret) => secretMatches(secret, await store.nodes.secretHash(name)),
  });
  sendAck = (node, bytes) => broker.publishAck(node, bytes);

  const child = fork(fileURLToPath(new URL('./publish-load.ts', import.meta.url)), [], {
    execArgv: process.execArgv,
  });
  const startedMs = performance.now();
  const done = new Promise<void>((resolve, reject) => {
    child.once('message', () => resolve());
    child.once('exit', (code) => reject(new Error(`the publishers ended with ${code}`)));
  });
  child.send({
    ...order,
    url: `mqtt://127.0.0.1:${broker.port}`,
    nodes: nodes.map(({ name, secret }) => ({ name, secret })),
  } satisfies LoadOrder);
  await done;
  await receiver.idle();
  const seconds = (performance.now() - startedMs) / 1000;
  const megabytesRss = process.memoryUsage().rss / 1e6;
  child.removeAllListeners('exit');
  child.kill();
  await broker.close();
  const readings =
    nodes.length * order.messagesPerNode * order.samplesPerMessage * loadMetrics.length;
  return { readings, seconds, megabytesRss };
}
