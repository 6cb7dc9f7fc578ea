import type { HousekeepingFigures } from '@duskline/alerts';
import { diagnosePower, diagnoseSilence, powerFigures, silentAfterMs } from '@duskline/diagnosis';
import {
  MINUTE_MS,
  type Diagnosis,
  type HarvestStop,
  type NodeId,
  type PowerFigures,
} from '@duskline/domain';
import type { Store, YieldDay } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';
import { BRIGHT_AFTER_MS, brightHours } from './bright-hours.ts';
import { readHarvestStop } from './read-harvest-stop.ts';
import { readHousekeeping } from './read-housekeeping.ts';
import { readPower } from './read-power.ts';
import { readSilence } from './read-silence.ts';

/** What diagnosis makes of one node, and the figures the rules judge by. */
export interface NodeSigns {
  /** Ranked causes of its silence; undefined while it is heard. */
  readonly silence?: Diagnosis;
  readonly power?: Diagnosis;
  /** Its harvest cannot reach the battery, and nobody has been there since. */
  readonly harvestStop?: HarvestStop;
  readonly figures?: PowerFigures;
  readonly housekeeping: HousekeepingFigures;
  readonly yields: readonly YieldDay[];
  readonly brightHoursOverdue?: number;
  /** More of its past has come than these signs have seen: they are to be read again then. */
  readonly lookAgainAtMs?: number;
}

/** Weeks of hours are read so often: nothing in them moves faster. */
const POWER_EVERY_MS = 20 * MINUTE_MS;
const HOUSEKEEPING_EVERY_MS = 5 * MINUTE_MS;
/** A node that sends its past does so for minutes on end: reading weeks at each packet would hold up everybody's live readings. */
const REWRITTEN_EVERY_MS = MINUTE_MS;

interface Known<T> {
  readonly atMs: number;
  readonly value: T;
  /** Its past has been added to since. */
  readonly isStale: boolean;
}

/**
 * Reads the signs of nodes, the weeks behind them no more often than they change. What it remembers is only to spare the
 * database: nothing is wrong when it is forgotten.
 */
export function createSignReader(store: Store) {
  const powerOf = new Map<NodeId, Known<Awaited<ReturnType<typeof readPower>>>>();
  const housekeepingOf = new Map<NodeId, Known<HousekeepingFigures>>();

  async function remembered<T>(
    known: Map<NodeId, Known<T>>,
    facts: NodeSituation,
    {
      everyMs,
      isRewritten,
      read,
    }: {
      readonly everyMs: number;
      readonly isRewritten: boolean;
      readonly read: () => Promise<T>;
    },
  ): Promise<T> {
    const before = known.get(facts.node.id);
    const isStale = isRewritten || before?.isStale === true;
    const ageMs = facts.nowMs - (before?.atMs ?? -Infinity);
    const lastsMs = isStale ? Math.min(everyMs, REWRITTEN_EVERY_MS) : everyMs;
    if (before !== undefined && ageMs >= 0 && ageMs < lastsMs) {
      known.set(facts.node.id, { ...before, isStale });
      return before.value;
    }
    const value = await read();
    known.set(facts.node.id, { atMs: facts.nowMs, value, isStale: false });
    return value;
  }

  /** When what is remembered of the node is to be read again because its past has been added to. */
  function lookAgainAt({ node }: NodeSituation): number | undefined {
    const stale = [powerOf.get(node.id), housekeepingOf.get(node.id)].filter(
      (known) => known?.isStale === true,
    );
    return stale.length === 0
      ? undefined
      : Math.min(...stale.map((known) => known!.atMs)) + REWRITTEN_EVERY_MS;
  }

  /** @param isRewritten  readings of its past have come since: what was seen in the weeks before is seen again, soon */
  return async (facts: NodeSituation, isRewritten: boolean): Promise<NodeSigns> => {
    const seen = await remembered(powerOf, facts, {
      everyMs: POWER_EVERY_MS,
      isRewritten,
      read: () => readPower(store, facts),
    });
    const housekeeping = await remembered(housekeepingOf, facts, {
      everyMs: HOUSEKEEPING_EVERY_MS,
      isRewritten,
      read: () => readHousekeeping(store, facts),
    });
    const isSilent = facts.nowMs - (facts.lastHeardAtMs ?? facts.nowMs) > silentAfterMs(facts.node);
    const saidFarewell = facts.lastWord?.kind === 'farewell';
    const silence =
      isSilent || saidFarewell
        ? diagnoseSilence(await readSilence(store, facts, { housekeeping, power: seen?.power }))
        : undefined;
    const power = seen === undefined ? undefined : diagnosePower(seen.power);
    const stop =
      seen === undefined || power === undefined
        ? undefined
        : await readHarvestStop(store, facts, { power: seen.power, diagnosis: power });
    const windowEndMs = facts.firstWindow?.p90Ms;
    const lookAgainAtMs = lookAgainAt(facts);
    return {
      housekeeping,
      ...(lookAgainAtMs === undefined ? {} : { lookAgainAtMs }),
      yields: seen?.yields ?? [],
      ...(stop === undefined ? {} : { harvestStop: stop }),
      ...(seen === undefined || power === undefined
        ? {}
        : {
            power,
            figures: { ...powerFigures(seen.power), ...seen.cycles },
          }),
      ...(silence === undefined ? {} : { silence }),
      ...(windowEndMs === undefined || windowEndMs > facts.nowMs
        ? {}
        : { brightHoursOverdue: brightHours(facts, windowEndMs, facts.nowMs - BRIGHT_AFTER_MS) }),
    };
  };
}

export type SignReader = ReturnType<typeof createSignReader>;
