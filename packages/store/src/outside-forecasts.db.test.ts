import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode, examplePower } from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 6);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

describe('forecasts from outside', () => {
  it('are listed newest first; the newest that had been issued and had come by then counts', async () => {
    const { siteId } = await createExampleNode(store, 'rushy-sluice');
    const add = (issuedAtMs: number, delayMs: number) =>
      store.outsideForecasts.add({
        siteId,
        source: 'valley office',
        issuedAtMs,
        receivedAtMs: issuedAtMs + delayMs,
        by: 'Wren Halloway',
        body: { steps: [1, 2] },
      });
    const first = await add(startMs, HOUR_MS);
    const second = await add(startMs + 12 * HOUR_MS, 3 * HOUR_MS);
    expect((await store.outsideForecasts.list(siteId, 10)).map(({ id }) => id)).toEqual([
      second?.id,
      first?.id,
    ]);
    const at = async (hours: number) =>
      (await store.outsideForecasts.newest(siteId, startMs + hours * HOUR_MS))?.id;
    expect([await at(0.5), await at(2), await at(14), await at(15)]).toEqual([
      undefined,
      first?.id,
      first?.id,
      second?.id,
    ]);
  });

  it('may be sent anew until an outlook was made of them', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const send = (value: number) =>
      store.outsideForecasts.add({
        siteId: node.siteId,
        source: 'valley office',
        issuedAtMs: startMs,
        receivedAtMs: startMs,
        by: 'Wren Halloway',
        body: { value },
      });
    const first = await send(1);
    expect(await send(2)).toMatchObject({ id: first?.id, body: { value: 2 } });
    const none = Array.from({ length: 24 }, () => null);
    await store.outlooks.keepHindcasts(node.id, [
      {
        hindcast: true,
        outlook: {
          kind: 'insufficient-data',
          issuedAtMs: startMs + HOUR_MS,
          horizonDays: 30,
          model: 'test',
          seed: 1,
          missing: 'days',
          have: 0,
          need: 3,
        },
        inputs: {
          ...(first === undefined ? {} : { outsideId: first.id }),
          history: {
            startMs: startMs - DAY_MS,
            panelW: none,
            loadW: none,
            chargeRatio: none,
            batteryV: none,
            batteryA: none,
            batteryC: none,
            airC: none,
          },
          facts: {
            nowMs: startMs,
            seed: 1,
            position: { latitudeDeg: 54, longitudeDeg: 0, elevationM: 0 },
            power: examplePower,
          },
        },
      },
    ]);
    expect(await send(3)).toBeUndefined();
    expect(await store.outsideForecasts.list(node.siteId, 1)).toMatchObject([
      { body: { value: 2 }, lastUsedAtMs: startMs + HOUR_MS },
    ]);
  });
});
