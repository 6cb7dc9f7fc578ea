import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { fleet } from '@duskline/simulator';
import type { WorldPlan } from '../plan.ts';

const PAST_DAYS = 20;

/** The twenty sites of the pretend fleet from October on, into the dark; their own faults fall into it half way. */
export function fleetWorld(seed: number, liveDays: number): WorldPlan {
  const startMs = Date.UTC(2026, 8, 11);
  const liveFromMs = startMs + PAST_DAYS * DAY_MS;
  return {
    name: 'the fleet',
    seed,
    startMs,
    liveFromMs,
    endMs: liveFromMs + liveDays * DAY_MS,
    drillMs: liveFromMs + (liveDays * DAY_MS) / 2,
    stepMs: 6 * HOUR_MS,
    sampleMs: HOUR_MS / 2,
    // Everybody morning and evening; whoever is off or came back within the last step at once, as the sweep would.
    looksAt: (_, atMs, hasNews) => hasNews || atMs % (12 * HOUR_MS) === 6 * HOUR_MS,
    spells: [],
    nodes: fleet.map((site, index) => ({ site, index })),
  };
}
