import { evaluateFleetRules, fleetRules, type FleetFacts } from '@duskline/alerts';
import { FLEET_NUMBER, type NodeId, type NodeState, type RuleKey } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { outlookLagMs } from './outlook-lag.ts';

/** What the server knows of its own health and of its people when it looks at the fleet. */
export interface OwnHealth {
  readonly server: Omit<FleetFacts['server'], 'startedAtMs' | 'oldestOutlookAgeMs'>;
  readonly rotaGap?: FleetFacts['rotaGap'];
  readonly untaken?: FleetFacts['untaken'];
  readonly visitsOut?: FleetFacts['visitsOut'];
}

export interface FleetLook {
  /** Looks at the fleet as a whole. Every server looks, so that each knows what is explained; one of them writes it down. */
  readonly look: (nowMs: number) => Promise<void>;
  /** The rules of the fleet that hold for this node: its own alerts are quiet meanwhile. */
  readonly covering: (nodeId: NodeId) => readonly RuleKey[];
}

const LEASE = 'fleet-look';
const LEASE_MS = 60_000;

/** The rules about the fleet, looked at every so often by the sweep. */
export function createFleetLook(
  store: Store,
  about: {
    readonly holder: string;
    readonly startedAtMs: number;
    readonly health: () => Promise<OwnHealth>;
  },
): FleetLook {
  let covering: ReadonlyMap<NodeId, readonly RuleKey[]> = new Map();
  return {
    covering: (nodeId) => covering.get(nodeId) ?? [],
    async look(nowMs) {
      const [pulses, open, memory, settings, health] = await Promise.all([
        store.signs.fleet(nowMs),
        store.alerts.open(FLEET_NUMBER),
        store.alerts.memory(FLEET_NUMBER),
        store.ruleSettings.ofFleet(),
        about.health(),
      ]);
      const nodes = pulses.map(({ state, lastOutlookAtMs: _, lastObservedAtMs: __, ...pulse }) => ({
        ...pulse,
        state: (state ?? 'not-yet-proved') as NodeState,
      }));
      const lagMs = outlookLagMs(pulses, nowMs);
      const run = evaluateFleetRules(
        fleetRules,
        {
          nowMs,
          nodes,
          server: {
            ...health.server,
            startedAtMs: about.startedAtMs,
            ...(lagMs === undefined ? {} : { oldestOutlookAgeMs: lagMs }),
          },
          untaken: health.untaken ?? [],
          settings,
          ...(health.visitsOut === undefined ? {} : { visitsOut: health.visitsOut }),
          ...(health.rotaGap === undefined ? {} : { rotaGap: health.rotaGap }),
        },
        { open, memory },
      );
      covering = run.covering;
      if ((await store.leases.take(LEASE, about.holder, LEASE_MS)) === undefined) return;
      await store.commitFleet({ alertChanges: run.changes, memory: run.memory, nowMs });
    },
  };
}
