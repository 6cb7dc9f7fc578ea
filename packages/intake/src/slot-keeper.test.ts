import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, describe, expect, it, vi } from 'vitest';
import type { Consumer } from './consumer.ts';
import { keepSlots, type SlotKeeper, type SlotLeases } from './slot-keeper.ts';

// The database is a map whose clock the test moves; leases follow the contract of the store's own.

const TTL_MS = 100;
let nowMs = 0;
let rows = new Map<string, { holder: string | null; expiresAtMs: number }>();
let away = false;
const keepers: SlotKeeper[] = [];

const reach = () => {
  if (away) throw new Error('the database is away');
};
const free = (name: string, holder: string) => {
  const row = rows.get(name);
  return (
    row === undefined || row.holder === null || row.holder === holder || row.expiresAtMs < nowMs
  );
};
const leases: SlotLeases = {
  async take(name, holder, ttlMs) {
    reach();
    if (!free(name, holder)) return undefined;
    rows.set(name, { holder, expiresAtMs: nowMs + ttlMs });
    return {};
  },
  async renew(name, holder, ttlMs) {
    reach();
    const row = rows.get(name);
    if (row?.holder !== holder || row.expiresAtMs < nowMs) return false;
    row.expiresAtMs = nowMs + ttlMs;
    return true;
  },
  async release(name, holder) {
    reach();
    const row = rows.get(name);
    if (row?.holder === holder) row.holder = null;
  },
  async list(prefix) {
    reach();
    return [...rows]
      .filter(([name]) => name.startsWith(prefix))
      .map(([name, row]) => ({ name, holder: row.expiresAtMs < nowMs ? null : row.holder }));
  },
};
const quiet = () => undefined;
const log = { info: quiet, warn: quiet, error: quiet };

function server(holder: string, options: { slots?: number; own?: SlotLeases } = {}) {
  const mayConnect = new Map<number, () => boolean>();
  const closed: (number | undefined)[] = [];
  const keeper = keepSlots({
    slots: options.slots ?? 4,
    holder,
    leases: options.own ?? leases,
    log,
    ttlMs: TTL_MS,
    steadyMs: () => nowMs,
    openConsumer: async (slot, may) => {
      mayConnect.set(slot, may);
      return {
        connected: () => true,
        publish: quiet,
        publishAck: quiet,
        close: async (withinMs) => void closed.push(withinMs),
      } satisfies Consumer;
    },
  });
  keepers.push(keeper);
  return { keeper, mayConnect, closed };
}

const holds = (keeper: SlotKeeper, ...slots: number[]) =>
  vi.waitFor(() => expect(keeper.held()).toEqual(slots));

afterEach(async () => {
  away = false;
  await Promise.all(keepers.splice(0).map((keeper) => keeper.close()));
  rows = new Map();
});

describe('the slots of the intake', () => {
  it('are all one server’s when there is one', async () => {
    const { keeper } = server('a');
    await holds(keeper, 0, 1, 2, 3);
  });

  it('are shared when a second server comes, and given back by the first', async () => {
    const a = server('a');
    await holds(a.keeper, 0, 1, 2, 3);
    const b = server('b');
    await holds(a.keeper, 0, 1);
    await holds(b.keeper, 2, 3);
    expect(a.closed).toEqual([undefined, undefined]); // each in good order
  });

  it('of a server that died go to the other once its leases have run out, and not before', async () => {
    rows.set('intake/server-dead', { holder: 'dead', expiresAtMs: nowMs + TTL_MS });
    for (const slot of [0, 1])
      rows.set(`intake/slot-${slot}`, { holder: 'dead', expiresAtMs: nowMs + TTL_MS });
    const { keeper } = server('b');
    await holds(keeper, 2, 3);
    await sleep(60);
    expect(keeper.held()).toEqual([2, 3]);
    nowMs += TTL_MS + 1;
    // Its own lease must not run out with the other's.
    for (const [, row] of rows) if (row.holder === 'b') row.expiresAtMs = nowMs + TTL_MS;
    await holds(keeper, 0, 1, 2, 3);
  });

  it('are given up by our own clock when the database does not answer', async () => {
    const { keeper, mayConnect, closed } = server('a');
    await holds(keeper, 0, 1, 2, 3);
    away = true;
    await sleep(60);
    expect(keeper.held()).toEqual([0, 1, 2, 3]); // the lease still runs
    nowMs += TTL_MS + 1;
    expect(mayConnect.get(0)?.()).toBe(false);
    await holds(keeper);
    expect(closed).toEqual([0, 0, 0, 0]); // at once
    away = false;
    await holds(keeper, 0, 1, 2, 3);
  });

  it('that are wanted no more are still held, to be emptied', async () => {
    rows.set('intake/slot-5', { holder: null, expiresAtMs: 0 });
    const { keeper } = server('a', { slots: 2 });
    await holds(keeper, 0, 1, 5);
  });
});
