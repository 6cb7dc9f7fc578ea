import { DAY_MS, type PartKind } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import { StoreConflictError } from './errors.ts';
import type { NewPart } from './part-store.ts';
import type { Store } from './store.ts';
import { createExampleNode, examplePower, exampleSite } from './testing/example-fleet.ts';

const fittedMs = Date.UTC(2026, 3, 2, 10);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const part = (siteId: NewPart['siteId'], kind: PartKind, serial: string): NewPart => ({
  siteId,
  kind,
  serial,
  maker: 'Invented Works P20',
  fittedAtMs: fittedMs,
  rated: { powerW: 20 },
  notes: '',
});

describe('parts of a site', () => {
  it('come back as they were written, calibration and all', async () => {
    const { siteId } = await createExampleNode(store, 'rushy-sluice');
    const sensor: NewPart = {
      ...part(siteId, 'sensor', 'S-1'),
      rated: {},
      calibration: { coefficients: [0.1, 1.02], atMs: fittedMs, uncertainty: 0.2, unit: '°C' },
      notes: 'Behind the gauge board.',
    };
    const added = await store.parts.add(sensor);
    expect(added).toEqual({ ...sensor, id: added.id });
    expect(await store.parts.find(added.id)).toEqual(added);
    expect(await store.parts.list(siteId)).toEqual([added]);
  });

  it('are replaced in one step: the old one ends when the new one begins, and the node takes its rating', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const old = await store.parts.add(part(node.siteId, 'panel', 'P-1'));
    const power = { ...examplePower, panel: { ...examplePower.panel, ratedW: 30 } };
    const nextMs = fittedMs + 40 * DAY_MS;
    const next = await store.parts.replace(
      old.id,
      { ...part(node.siteId, 'panel', 'P-2'), fittedAtMs: nextMs, rated: { powerW: 30 } },
      { nodeId: node.id, power },
    );
    expect(await store.parts.find(old.id)).toMatchObject({
      removedAtMs: nextMs,
      replacedBy: next?.id,
    });
    expect((await store.nodes.find(node.id))?.power.panel.ratedW).toBe(30);
    // Done once: the second time there is nothing to replace, and nothing is changed.
    const again = await store.parts.replace(old.id, part(node.siteId, 'panel', 'P-3'), {
      nodeId: node.id,
      power: examplePower,
    });
    expect(again).toBeUndefined();
    expect((await store.nodes.find(node.id))?.power.panel.ratedW).toBe(30);
    expect(await store.parts.list(node.siteId)).toHaveLength(2);
  });

  it('with one serial are in one place only, until they are taken out', async () => {
    const { siteId } = await createExampleNode(store, 'long-moss');
    const other = await store.sites.create(exampleSite('hag-end', 'Hag End'));
    const battery = await store.parts.add(part(siteId, 'battery', 'B-7'));
    await expect(store.parts.add(part(other.id, 'battery', 'B-7'))).rejects.toThrow(
      StoreConflictError,
    );
    expect(await store.parts.remove(battery.id, fittedMs + DAY_MS)).toMatchObject({
      removedAtMs: fittedMs + DAY_MS,
    });
    expect(await store.parts.remove(battery.id, fittedMs + DAY_MS)).toBeUndefined();
    expect((await store.parts.add(part(other.id, 'battery', 'B-7'))).siteId).toBe(other.id);
    // Parts whose serial cannot be read are not taken for one and the same.
    await store.parts.add(part(siteId, 'battery', ''));
    await store.parts.add(part(siteId, 'battery', ''));
  });
});
