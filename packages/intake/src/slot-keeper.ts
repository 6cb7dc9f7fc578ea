import { SECOND_MS } from '@duskline/domain';
import type { Consumer } from './consumer.ts';
import type { IntakeLog } from './intake-log.ts';

/** Leases by the database's clock. */
export interface SlotLeases {
  readonly take: (name: string, holder: string, ttlMs: number) => Promise<unknown>;
  /** @returns false when the lease was lost */
  readonly renew: (name: string, holder: string, ttlMs: number) => Promise<boolean>;
  readonly release: (name: string, holder: string) => Promise<void>;
  readonly list: (
    prefix: string,
  ) => Promise<readonly { readonly name: string; readonly holder: string | null }[]>;
}

export interface SlotKeeperOptions {
  /** Slots 0 to this, less one. */
  readonly slots: number;
  /** This life of this server: no two processes have the same. */
  readonly holder: string;
  readonly leases: SlotLeases;
  /** @param mayConnect asked before each attempt to connect: is the lease still ours, by our own steady clock? */
  readonly openConsumer: (slot: number, mayConnect: () => boolean) => Promise<Consumer>;
  readonly log: IntakeLog;
  readonly ttlMs?: number;
  /** Steady milliseconds; `performance.now` when absent. */
  readonly steadyMs?: () => number;
}

export interface SlotKeeper {
  /** Slots held now, in order. */
  readonly held: () => readonly number[];
  readonly consumers: () => readonly Consumer[];
  /** Servers seen at the last look, this one included. */
  readonly servers: () => number;
  /** Gives every slot back, each after what it has taken is stored. */
  readonly close: () => Promise<void>;
}

const TTL_MS = 6 * SECOND_MS;
const TICKS_PER_TTL = 5;
const SLOT = 'intake/slot-';
const SERVER = 'intake/server-';

interface Held {
  readonly consumer: Consumer;
  readonly lease: { validUntilMs: number };
}

/**
 * Holds this server's share of the slots. A slot is a fixed client id at the broker, with a queue that outlives whoever
 * reads it; its lease says who reads. Every server shows itself and takes as many slots as are its due, gives back what is
 * above that when another comes, and takes over the slots of one whose leases ran out. A lease that cannot be renewed in
 * time is given up by our own clock before the database gives it to another, so two seldom read one queue; should they, the
 * broker lets only the last one in, and what both have read is stored once.
 */
export function keepSlots(options: SlotKeeperOptions): SlotKeeper {
  const { slots, holder, leases, openConsumer, log, ttlMs = TTL_MS } = options;
  const steadyMs = options.steadyMs ?? (() => performance.now());
  const held = new Map<number, Held>();
  let servers = 1;
  let stopped = false;
  let looking: Promise<void> | undefined;

  async function letGo(slot: number, withinMs?: number): Promise<void> {
    const { consumer } = held.get(slot) ?? {};
    held.delete(slot);
    await consumer?.close(withinMs);
  }

  async function renewAll(): Promise<void> {
    for (const [slot, { lease }] of held) {
      const askedAtMs = steadyMs();
      if (await leases.renew(`${SLOT}${slot}`, holder, ttlMs)) {
        lease.validUntilMs = askedAtMs + ttlMs;
        continue;
      }
      log.warn({ slot }, 'Another server has taken over this slot.');
      await letGo(slot, 0);
    }
  }

  async function giveBack(slot: number): Promise<void> {
    await letGo(slot);
    await leases.release(`${SLOT}${slot}`, holder);
    log.info({ slot }, 'Gave a slot to another server.');
  }

  async function takeOne(slot: number): Promise<void> {
    const lease = { validUntilMs: steadyMs() + ttlMs };
    if ((await leases.take(`${SLOT}${slot}`, holder, ttlMs)) === undefined || stopped) return;
    const consumer = await openConsumer(slot, () => steadyMs() < lease.validUntilMs);
    held.set(slot, { consumer, lease });
    log.info({ slot }, 'Took a slot.');
  }

  async function look(): Promise<void> {
    await leases.take(`${SERVER}${holder}`, holder, ttlMs);
    const shown = await leases.list(SERVER);
    servers = Math.max(1, shown.filter((row) => row.holder !== null).length);
    await renewAll();
    const rows = await leases.list(SLOT);
    // Slots that were wanted once may still have a queue at the broker.
    const wanted = new Set(Array.from({ length: slots }, (_, slot) => slot));
    for (const { name } of rows) wanted.add(Number(name.slice(SLOT.length)));
    const due = Math.ceil(wanted.size / servers);
    const surplus = [...held.keys()].sort((a, b) => a - b).slice(due);
    for (const slot of surplus) await giveBack(slot);
    const taken = new Set(rows.filter((row) => row.holder !== null).map(({ name }) => name));
    for (const slot of [...wanted].sort((a, b) => a - b)) {
      if (held.size >= due || stopped) break;
      if (!held.has(slot) && !taken.has(`${SLOT}${slot}`)) await takeOne(slot);
    }
  }

  /** The database is away: what ran out by our own clock may belong to another by now. */
  async function giveUpOverdue(): Promise<void> {
    for (const [slot, { lease }] of held)
      if (steadyMs() >= lease.validUntilMs) await letGo(slot, 0);
  }

  function tick(): void {
    if (stopped) return;
    looking ??= look()
      .catch(async (cause: unknown) => {
        log.warn({ cause }, 'The leases of the intake slots could not be renewed; trying again.');
        await giveUpOverdue();
      })
      .finally(() => (looking = undefined));
  }

  tick();
  const timer = setInterval(tick, ttlMs / TICKS_PER_TTL);

  return {
    held: () => [...held.keys()].sort((a, b) => a - b),
    consumers: () => [...held.values()].map(({ consumer }) => consumer),
    servers: () => servers,
    async close() {
      stopped = true;
      clearInterval(timer);
      await looking;
      await Promise.all(
        [...held.keys()].map(async (slot) => {
          await letGo(slot);
          await leases.release(`${SLOT}${slot}`, holder).catch(() => undefined);
        }),
      );
      await leases.release(`${SERVER}${holder}`, holder).catch(() => undefined);
    },
  };
}
