import { DAY_MS, MINUTE_MS, type NodeName, type SiteId } from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import { createTestDatabase, type TestDatabase } from '@duskline/test-harness';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { createPipeline } from '../pipeline.ts';

const startMs = Date.UTC(2026, 10, 25, 12);
let database: TestDatabase;
let store: Store;
beforeAll(async () => {
  database = await createTestDatabase();
  store = await openStore({ url: database.url });
});
afterAll(async () => {
  await store.close();
  await database.drop();
});

/** Two messages of a node that has no uptime to date them by: what it says of its clock is all there is. */
async function alertsAfter(name: string, source: string): Promise<readonly string[]> {
  await store.sites.create({
    id: name as SiteId,
    name,
    position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 120 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  const node = await store.nodes.create(
    {
      name: name as NodeName,
      siteId: name as SiteId,
      commissionedAtMs: startMs - DAY_MS,
      power: {
        panel: { ratedW: 20, tiltDeg: 68, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS: 300,
      },
    },
    new Uint8Array(32),
  );
  let nowMs = startMs;
  const pipeline = createPipeline({
    store,
    clock: { now: () => nowMs },
    sendAck: () => undefined,
    onNews: () => undefined,
  });
  for (let i = 0; i < 3; i++) {
    const records = [
      { bn: `${name}_`, bt: nowMs / 1000 - 3600, n: 'charge', u: '%EL', v: 80 },
      { n: 'clock_src', vs: source },
    ];
    await pipeline.receive({
      topic: `v1/${name}/up/live`,
      payload: new TextEncoder().encode(JSON.stringify(records)),
      receivedAtMs: nowMs,
    });
    await pipeline.idle();
    await pipeline.advance(node.id);
    nowMs += 6 * MINUTE_MS;
  }
  return (await store.alerts.open(node.id)).map(({ rule }) => rule);
}

it('says so when a clock was never set, though nothing of such a node is among its latest values', async () => {
  expect(await alertsAfter('no-time', 'none')).toContain('clock-wrong');
  expect(await alertsAfter('right-time', 'network')).not.toContain('clock-wrong');
});
