import { DAY_MS, HOUR_MS, parseNodeName, type NodeName, type SiteId } from '@duskline/domain';
import { openStore } from '@duskline/store';
import { createTestDatabase } from '@duskline/test-harness';
import { expect, it } from 'vitest';
import { lookAtNeighbours } from './look-at-neighbours.ts';

const dayMs = Date.UTC(2026, 10, 24);

it('writes into the logbook once which node read apart from its neighbours for a day', async () => {
  const database = await createTestDatabase();
  const store = await openStore({ url: database.url });
  // Means of the day: 5, 6, 7, 5 and 15 °C. The fifth lies 9.5 from the median of the others (5.5); nobody else lies above 8.
  for (const [i, airC] of [5, 6, 7, 5, 15].entries()) {
    const siteId = `bent-moss-${i}` as SiteId;
    await store.sites.create({
      id: siteId,
      name: `Bent Moss ${i}`,
      position: { latitudeDeg: 54.9 + i / 100, longitudeDeg: -2.9, elevationM: 300 },
      timeZone: 'Europe/London',
      access: '',
      hazards: '',
    });
    const name = parseNodeName(siteId) as NodeName;
    const node = await store.nodes.create(
      {
        name,
        siteId,
        commissionedAtMs: dayMs,
        power: {
          panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
          battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
          charger: 'mppt',
          shutDownRatio: 0.1,
          restartRatio: 0.5,
          offStateDrawW: 0.1,
          usualGapS: 3600,
        },
      },
      new Uint8Array(32),
    );
    const samples = Array.from({ length: 24 }, (_none, hour) => ({
      observedAtMs: dayMs + hour * HOUR_MS,
      metrics: ['air_temp' as const],
      values: [airC + (hour % 2 === 0 ? 1 : -1)],
      timeQuality: 'synced' as const,
    }));
    const receivedAtMs = dayMs + DAY_MS;
    await store.samples.accept([{ node: name, lane: 'backlog', receivedAtMs, samples }]);
    await store.rollups.refresh(node.id);
  }
  const lines = (site: number) =>
    store.events.list(`bent-moss-${site}` as SiteId, {
      fromMs: dayMs,
      toMs: dayMs + 9 * DAY_MS,
      limit: 9,
    });
  const at = (hour: number) => dayMs + DAY_MS + hour * HOUR_MS;
  // The day is not judged while its last readings may still be under way.
  expect(await lookAtNeighbours(store, at(5))).toBe(0);
  expect(await lookAtNeighbours(store, at(7))).toBe(1);
  expect(await lookAtNeighbours(store, at(8))).toBe(0);
  const [line] = await lines(4);
  expect(line).toMatchObject({ kind: 'note', atMs: dayMs + DAY_MS });
  expect(line?.sentence).toContain('2026-11-24');
  expect(line?.sentence).toContain('15.0 °C');
  expect(line?.sentence).toContain('lay 9.5 °C from the median of 4 neighbours');
  expect(await lines(0)).toEqual([]);
  // Its people say that this place is warmer: a wider limit, or none.
  await store.qualityLimits.set(
    { kind: 'site', name: 'bent-moss-0' },
    { limits: { metrics: { air_temp: { neighbour: null } } }, setBy: 'Ida', setAtMs: dayMs },
  );
  expect(await lookAtNeighbours(store, at(9))).toBe(0);
  await store.close();
  await database.drop();
});
