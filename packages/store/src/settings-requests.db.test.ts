import type { NodeName } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Store } from './store.ts';
import { createExampleNode } from './testing/example-fleet.ts';

const askedAtMs = Date.UTC(2026, 10, 25, 7);
const thriftUntilMs = Date.UTC(2026, 11, 9);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

describe('settings of a node', () => {
  it('are kept as they were asked for, and answered by the node', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    const request = { id: 'a1', logEveryS: 600, publishEveryS: 3600, thriftUntilMs };
    await store.settingsRequests.ask(node.id, { request, askedAtMs, askedBy: 'Ada' });
    expect(await store.settingsRequests.list(node.id, 10)).toEqual([
      { request, askedAtMs, askedBy: 'Ada' },
    ]);
    expect(await store.settingsRequests.inForce(node.id)).toBeUndefined();

    const saidAtMs = askedAtMs + 60_000;
    const settings = { ...request, refusal: 'log_every: the script does not read it' };
    const confirm = () => store.settingsRequests.confirm(node.name, settings, saidAtMs);
    expect(await confirm()).toEqual({ nodeId: node.id, isNews: true });
    expect(await confirm()).toEqual({ nodeId: node.id, isNews: false });
    expect(await store.settingsRequests.inForce(node.id)).toEqual({ settings, saidAtMs });
    expect(await store.settingsRequests.list(node.id, 10)).toEqual([
      { request, askedAtMs, askedBy: 'Ada', answeredAtMs: saidAtMs, refusal: settings.refusal },
    ]);
  });

  it('are not set back by what was said earlier', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const later = { id: 'b2', logEveryS: 60, publishEveryS: 300 };
    await store.settingsRequests.confirm(node.name, later, askedAtMs + 5000);
    const outcome = await store.settingsRequests.confirm(
      node.name,
      { id: 'b1', logEveryS: 600, publishEveryS: 600 },
      askedAtMs,
    );
    expect(outcome).toEqual({ nodeId: node.id, isNews: false });
    expect((await store.settingsRequests.inForce(node.id))?.settings).toEqual(later);
  });

  it('are told again to a broker that forgot: the latest of each node', async () => {
    const node = await createExampleNode(store, 'long-moss');
    const other = await createExampleNode(store, 'cold-spout');
    const ask = (of: typeof node, id: string, atMs: number) =>
      store.settingsRequests.ask(of.id, {
        request: { id, publishEveryS: 900 },
        askedAtMs: atMs,
        askedBy: 'Ada',
      });
    await ask(node, 'c1', askedAtMs);
    await ask(node, 'c2', askedAtMs + 1000);
    await ask(other, 'd1', askedAtMs);
    const told = await store.settingsRequests.newest();
    expect(told.filter(({ name }) => name === node.name || name === other.name)).toEqual(
      expect.arrayContaining([
        { name: node.name, request: { id: 'c2', publishEveryS: 900 } },
        { name: other.name, request: { id: 'd1', publishEveryS: 900 } },
      ]),
    );
    expect(told.map(({ request }) => request.id)).not.toContain('c1');
  });

  it('of nobody are not kept', async () => {
    const settings = { id: 'x', logEveryS: 60, publishEveryS: 60 };
    expect(
      await store.settingsRequests.confirm('no-such-node' as NodeName, settings, askedAtMs),
    ).toBeUndefined();
  });
});
