import { hashSecret, newNodeSecret } from '@duskline/broker';
import { newApiToken } from '@duskline/api';
import {
  DAY_MS,
  parseNodeName,
  permissions,
  SECOND_MS,
  type MetricKey,
  type NodeName,
  type SiteId,
} from '@duskline/domain';
import { openStore } from '@duskline/store';
import {
  DEFAULT_CONSUMER,
  freePort,
  startMosquitto,
  waitFor,
  type TestMosquitto,
} from '@duskline/test-harness';
import { compareWithTruth, type Verdict } from './checker/compare-with-truth.ts';
import type { Broker, Claim } from './experiment.ts';
import { startPretendNode, type ForgetsBy, type PretendNode } from './generator/pretend-node.ts';
import type { StreamPlan } from './generator/truth.ts';
import type { Lab } from './lab.ts';
import { serverProcess, type ServerProcess } from './nemesis/server-process.ts';

/**
 * Time between two samples of a pretended node, as its power system says. It sends far more often than that, but an hour of its past
 * holds no more of them than a real one's: with a sample each tenth of a second the server would look at the same hour hundreds of times.
 */
export const MEASURED_EVERY_MS = 30_000;
/** Where a pretended past begins: so long ago that none of the long profile's reaches today. */
export const PAST_MS = 100 * DAY_MS;

/** Live messages at an even pace, of a past that begins at `startMs`. */
export const steadyStream = (
  startMs: number,
  pace: Pick<StreamPlan, 'perMessage' | 'everyMs'>,
): StreamPlan => ({
  boot: 1,
  lane: 'live',
  startMs,
  stepMs: MEASURED_EVERY_MS,
  ready: 0,
  ...pace,
});

export interface Provisioned {
  readonly id: number;
  readonly name: NodeName;
  readonly secret: string;
}

/** A database with nodes, a broker, and a server that is not yet started. */
export interface Stand {
  readonly databaseUrl: string;
  readonly nodes: readonly Provisioned[];
  readonly server: ServerProcess;
  readonly mosquitto: TestMosquitto | undefined;
  readonly mqttPort: number;
  readonly mqttUrl: string;
  /** For the API: everything allowed. */
  readonly token: string;
  readonly startNodes: (
    streams: (index: number) => readonly StreamPlan[],
    options?: {
      readonly forgetsBy?: ForgetsBy;
      readonly metrics?: readonly MetricKey[];
      readonly url?: string;
      readonly only?: readonly number[];
      readonly keepaliveS?: number;
    },
  ) => readonly PretendNode[];
  readonly check: (nodes: readonly PretendNode[]) => Promise<Verdict>;
}

export interface StandOptions {
  readonly broker: Broker;
  readonly nodes: number;
  /** Where it lies; default a fresh one on the shared server. */
  readonly databaseUrl?: string;
  /** By which address the server reaches it, when a proxy stands between. */
  readonly serverDatabaseUrl?: string;
  readonly env?: Readonly<Record<string, string>>;
  readonly wrap?: readonly string[];
}

export async function openStand(lab: Lab, options: StandOptions): Promise<Stand> {
  const databaseUrl = options.databaseUrl ?? (await lab.freshDatabase());
  const { nodes, token } = await provision(databaseUrl, options.nodes);
  const mosquitto =
    options.broker === 'mosquitto'
      ? await startMosquitto({
          nodes: nodes.map(({ name, secret }) => ({ name, password: secret })),
        })
      : undefined;
  if (mosquitto !== undefined) lab.undo(() => mosquitto.stop());
  const mqttPort = mosquitto?.port ?? (await freePort());
  const server = serverProcess({
    httpPort: await freePort(),
    ...(options.wrap === undefined ? {} : { wrap: options.wrap }),
    env: {
      DUSKLINE_DATABASE_URL: options.serverDatabaseUrl ?? databaseUrl,
      DUSKLINE_DATA_DIR: lab.folder,
      ...(mosquitto === undefined
        ? { DUSKLINE_MQTT_PORT: String(mqttPort) }
        : {
            DUSKLINE_BROKER_URL: mosquitto.url,
            DUSKLINE_BROKER_USERNAME: DEFAULT_CONSUMER.name,
            DUSKLINE_BROKER_PASSWORD: DEFAULT_CONSUMER.password,
          }),
      ...options.env,
    },
  });
  lab.undo(() => server.kill9());
  const mqttUrl = `mqtt://127.0.0.1:${mqttPort}`;
  return {
    databaseUrl,
    nodes,
    server,
    mosquitto,
    mqttPort,
    mqttUrl,
    token,
    startNodes(streams, { url = mqttUrl, only, ...rest } = {}) {
      const indexes = only ?? nodes.map((_, index) => index);
      return indexes.map((index) => {
        const { name, secret } = nodes[index] ?? { name: '' as NodeName, secret: '' };
        const node = startPretendNode({
          ...rest,
          url,
          node: name,
          secret,
          index,
          seed: lab.seed,
          streams: streams(index),
        });
        lab.undo(() => node.close());
        return node;
      });
    },
    async check(pretend) {
      // Nothing may move while it is looked at.
      for (const node of pretend) await node.close();
      await server.stop();
      return compareWithTruth(
        lab.openSql(databaseUrl),
        lab.seed,
        pretend.map((node) => ({
          id: nodes[node.index]?.id ?? 0,
          index: node.index,
          metrics: node.metrics,
          streams: node.streams,
        })),
      );
    },
  };
}

async function provision(url: string, count: number) {
  const store = await openStore({ url });
  try {
    const nodes: Provisioned[] = [];
    for (let i = 0; i < count; i++) {
      const site = await store.sites.create({
        id: `peat-hag-${i}` as SiteId,
        name: `Peat Hag ${i}`,
        position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 400 },
        timeZone: 'Europe/London',
        access: '',
        hazards: '',
      });
      const name = parseNodeName(`peat-hag-${i}`) as NodeName;
      const secret = newNodeSecret();
      const power = {
        panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS: MEASURED_EVERY_MS / SECOND_MS,
      } as const;
      const node = await store.nodes.create(
        { name, siteId: site.id, commissionedAtMs: Date.now(), power },
        hashSecret(secret),
      );
      nodes.push({ id: node.id, name, secret });
    }
    const account = await store.accounts.create({
      email: 'faults@localhost',
      name: 'Faults',
      role: 'keeper',
      passwordHash: 'no password opens this account',
    });
    const { token, hash } = newApiToken(permissions);
    await store.accounts.createToken({ accountId: account.id, name: 'faults', tokenHash: hash });
    return { nodes, token };
  } finally {
    await store.close();
  }
}

/** Stops publishing and waits until nothing waits for an acknowledgement any more. */
export async function settle(nodes: readonly PretendNode[], withinMs = 60_000): Promise<boolean> {
  for (const node of nodes) node.stopPublishing();
  return waitFor('every message to be acknowledged', () => nodes.every((node) => node.settled()), {
    withinMs,
    everyMs: 50,
  }).catch(() => false);
}

/** What every experiment claims of its readings. */
export function intact(verdict: Verdict, settled: boolean): readonly Claim[] {
  return [
    { what: `${verdict.lost} lost`, reached: verdict.lost === 0 },
    { what: `${verdict.doubled} doubled`, reached: verdict.doubled === 0 },
    { what: `${verdict.phantom} phantom`, reached: verdict.phantom === 0 },
    { what: `watermark ahead by ${verdict.ahead}`, reached: verdict.ahead === 0 },
    { what: 'some messages were never acknowledged', reached: settled },
    {
      what: `${verdict.stored} stored of ${verdict.published} published`,
      reached: !settled || verdict.stored === verdict.published,
    },
    { what: 'hardly anything was published', reached: verdict.published >= 500 },
  ];
}
