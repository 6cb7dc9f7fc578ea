import { DAY_MS, HOUR_MS } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import { settingsAsked } from './settings-asked.ts';
import { createTestNode } from '../testing-node.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store } = opened)));

const makeNode = (name: string) => createTestNode(store, name, nowMs - 9 * DAY_MS);
const isUp = (nodeId: Awaited<ReturnType<typeof makeNode>>['id'], sinceMs: number) =>
  store.commitAdvance({
    nodeId,
    newsVersion: 0,
    verdict: { state: 'up', sinceMs, cause: 'Heard.', evidence: [] },
    alertChanges: [],
    memory: [],
    nextCheckAtMs: nowMs,
    nowMs: sinceMs,
  });

it('counts contact from when the node is heard after the request, and is content once it says that it follows', async () => {
  const node = await makeNode('cold-spout');
  const look = (lastHeardAtMs: number, atMs = nowMs) =>
    settingsAsked(store, { node, nowMs: atMs, lastHeardAtMs, timeZone: 'UTC' });
  expect(await look(nowMs)).toBeUndefined();

  const requestedAtMs = nowMs - 3 * DAY_MS;
  const request = { id: 'a1', logEveryS: 1200, thriftUntilMs: nowMs + DAY_MS };
  await store.settingsRequests.ask(node.id, { request, askedAtMs: requestedAtMs, askedBy: 'Ada' });
  const says = 'Asked to log every 20 min until Thu 26 Nov 12:00 UTC';
  // Silent since before it was asked: it cannot know.
  expect(await look(requestedAtMs - HOUR_MS)).toEqual({ requestedAtMs, inForce: false, says });

  const firstContactAtMs = nowMs - 2 * DAY_MS;
  await isUp(node.id, firstContactAtMs);
  const known = { requestedAtMs, firstContactAtMs, says };
  expect(await look(nowMs)).toEqual({ ...known, inForce: false });

  const inForce = { id: 'a1', logEveryS: 1200, publishEveryS: 60 };
  await store.settingsRequests.confirm(node.name, { ...inForce, refusal: 'never' }, nowMs - 3000);
  expect(await look(nowMs)).toEqual({ ...known, inForce: false });
  await store.settingsRequests.confirm(node.name, inForce, nowMs - 2000);
  expect(await look(nowMs)).toEqual({ ...known, inForce: true });
  // After a restart it does something else.
  await store.settingsRequests.confirm(node.name, { ...inForce, logEveryS: 30 }, nowMs - 1000);
  expect(await look(nowMs)).toEqual({ ...known, inForce: false });

  // Thrift is over on its date: nothing is outstanding, and the settings changed then.
  expect(await look(nowMs, nowMs + 2 * DAY_MS)).toEqual({
    requestedAtMs: request.thriftUntilMs,
    inForce: true,
    says,
  });
});
