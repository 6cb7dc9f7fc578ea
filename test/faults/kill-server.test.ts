import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { hashSecret, newNodeSecret } from '@duskline/broker';
import { parseNodeName, type NodeName, type SiteId } from '@duskline/domain';
import { openStore } from '@duskline/store';
import {
  createTestDatabase,
  DEFAULT_CONSUMER,
  freePort,
  startMosquitto,
  waitFor,
  whyNoMosquitto,
  type TestDatabase,
} from '@duskline/test-harness';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { compareWithTruth } from './compare-with-truth.ts';
import { startPretendNode, type PretendNode } from './pretend-node.ts';
import { serverProcess } from './server-process.ts';

const KILLS = 5;
const NODES = 6;
/** 6 nodes every 12 ms with 4 readings each: 2,000 readings a second. */
const EVERY_MS = 12;
const noMosquitto = await whyNoMosquitto();
if (noMosquitto !== undefined) console.warn(`SKIPPED against Mosquitto: ${noMosquitto}`);

/** The moments are drawn from this seed and printed, so that a failure can be played again. */
const SEED = Number(process.env['DUSKLINE_FAULT_SEED'] ?? 20_261);
function momentsMs(seed: number): readonly number[] {
  let state = seed;
  return Array.from({ length: KILLS }, () => {
    state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0;
    return 300 + (state / 2 ** 32) * 2200;
  });
}

let database: TestDatabase;
let folder: string;
const undo: (() => Promise<void>)[] = [];
beforeEach(async () => {
  database = await createTestDatabase();
  folder = mkdtempSync(join(tmpdir(), 'duskline-faults-'));
});
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
  await database.drop();
  rmSync(folder, { recursive: true, force: true });
});

interface Provisioned {
  readonly id: number;
  readonly name: NodeName;
  readonly secret: string;
}

async function provision(): Promise<readonly Provisioned[]> {
  const store = await openStore({ url: database.url });
  const made: Provisioned[] = [];
  for (let i = 0; i < NODES; i++) {
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
    const node = await store.nodes.create(
      {
        name,
        siteId: site.id,
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
    made.push({ id: node.id, name, secret });
  }
  await store.close();
  return made;
}

async function killWhilePublishing(
  nodes: readonly Provisioned[],
  line: { readonly mqttUrl: string; readonly env: Readonly<Record<string, string>> },
): Promise<void> {
  const server = serverProcess(
    { DUSKLINE_DATABASE_URL: database.url, DUSKLINE_DATA_DIR: folder, ...line.env },
    await freePort(),
  );
  undo.push(() => server.stop());
  await server.start();
  const startMs = Math.floor(Date.now() / 1000) * 1000 - 10 * 86_400_000;
  const pretend: PretendNode[] = nodes.map(({ name, secret }, index) =>
    startPretendNode({ url: line.mqttUrl, node: name, index, secret, startMs, everyMs: EVERY_MS }),
  );
  undo.push(async () => {
    await Promise.all(pretend.map((node) => node.close()));
  });

  const moments = momentsMs(SEED);
  for (const moment of moments) {
    await sleep(moment);
    await server.kill9();
    await server.start();
  }
  await sleep(500);
  for (const node of pretend) node.stopPublishing();
  await waitFor('every message to be acknowledged', () => pretend.every((node) => node.settled()), {
    withinMs: 60_000,
  });

  const verdicts = await Promise.all(
    nodes.map(({ id }, index) =>
      compareWithTruth(database.url, {
        id,
        index,
        published: pretend[index]?.publishedUpTo() ?? 0,
        startMs,
      }),
    ),
  );
  const published = pretend.reduce((sum, node) => sum + node.publishedUpTo(), 0);
  const sum = (key: 'lost' | 'doubled' | 'phantom') =>
    verdicts.reduce((total, verdict) => total + verdict[key].length, 0);
  console.log(
    JSON.stringify({
      kills: KILLS,
      seed: SEED,
      momentsMs: moments.map(Math.round),
      messages: published,
      lost: sum('lost'),
      doubled: sum('doubled'),
      phantom: sum('phantom'),
    }),
  );
  expect(published).toBeGreaterThan(1000);
  expect(verdicts.map(({ stored }) => stored)).toEqual(pretend.map((node) => node.publishedUpTo()));
  expect(sum('lost') + sum('doubled') + sum('phantom')).toBe(0);
}

describe('a server killed at random moments under load', () => {
  it('loses and doubles nothing on the embedded broker', async () => {
    const port = await freePort();
    await killWhilePublishing(await provision(), {
      mqttUrl: `mqtt://127.0.0.1:${port}`,
      env: { DUSKLINE_MQTT_PORT: String(port) },
    });
  });

  it.skipIf(noMosquitto !== undefined)('loses and doubles nothing behind Mosquitto', async () => {
    const nodes = await provision();
    const mosquitto = await startMosquitto({
      nodes: nodes.map(({ name, secret }) => ({ name, password: secret })),
    });
    undo.push(() => mosquitto.stop());
    await killWhilePublishing(nodes, {
      mqttUrl: mosquitto.url,
      env: {
        DUSKLINE_BROKER_URL: mosquitto.url,
        DUSKLINE_BROKER_USERNAME: DEFAULT_CONSUMER.name,
        DUSKLINE_BROKER_PASSWORD: DEFAULT_CONSUMER.password,
      },
    });
  });
});
