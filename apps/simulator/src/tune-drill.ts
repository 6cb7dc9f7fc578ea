import { DAY_MS } from '@duskline/domain';
import type { SimulatedSite } from './fleet.ts';
import {
  createSimulatedNode,
  firstState,
  LONGEST_STEP_MS,
  type NodeLife,
  type NodeState,
  type Tuning,
} from './simulated-node.ts';
import { remembered } from './surroundings.ts';

/** So long before the moment of the drill a site begins to differ from itself. */
const TUNED_MS = 16 * DAY_MS;

/** Ever further from the site as it is. */
const LIGHTS = [1, 0.7, 0.5, 0.35, 0.22, 0.12, 0.05];
const BURDENS = [1, 1.15, 0.9, 1.3, 0.8, 1.5, 0.65, 1.8, 0.5, 2.2, 0.4, 2.7, 3.4, 4.5, 6, 8];

/**
 * The load and light under which a drill shows at the moment it is about, whatever the season and the weather of the day.
 *
 * A node that should be dark by now must have stopped one to five days ago; one whose panel gives nothing must be low by
 * now, and not yet dark. Other drills, and none, keep the site as it is.
 *
 * @returns undefined when the site is to be kept as it is
 */
export function tuneDrill(
  site: SimulatedSite,
  life: Omit<NodeLife, 'from' | 'tuning'> & { readonly startMs: number },
): Tuning | undefined {
  const wanted = wantedEnd(site);
  if (wanted === undefined) return undefined;
  // In whole steps from the start, so that the tuned node steps through the same moments as the one that is published.
  const tunedSteps = Math.floor((life.drillMs - TUNED_MS - life.startMs) / LONGEST_STEP_MS);
  const sinceMs = life.startMs + Math.max(0, tunedSteps) * LONGEST_STEP_MS;
  const surroundings = remembered(life.surroundings);
  const before = createSimulatedNode(site, {
    ...life,
    surroundings,
    from: firstState(site, life.startMs),
  });
  walk(before, sinceMs);
  const from = before.state();
  for (const tuning of tuningsFor(site, sinceMs, life.drillMs))
    if (wanted(endOf(site, { ...life, surroundings, from, tuning }))) return tuning;
  return undefined;
}

function* tuningsFor(site: SimulatedSite, sinceMs: number, drillMs: number): Generator<Tuning> {
  if (site.drill?.kind === 'connector-failed') {
    // The charge falls steadily once the panel gives nothing: when it failed decides how much is left. In the darkest weeks
    // the site needs more light before that, or it would have been dark long ago.
    for (const light of [1, 1.6, 2.5])
      for (const burden of BURDENS)
        for (
          let daysAgo = 0.6;
          daysAgo * DAY_MS < drillMs - sinceMs && daysAgo < 7;
          daysAgo += 0.18
        )
          yield { sinceMs, burden, light, failedAtMs: drillMs - daysAgo * DAY_MS };
    return;
  }
  for (const light of LIGHTS) for (const burden of BURDENS) yield { sinceMs, burden, light };
}

interface End {
  readonly up: boolean;
  readonly chargeRatio: number;
  readonly darkForMs: number;
}

function wantedEnd({ drill }: SimulatedSite): ((end: End) => boolean) | undefined {
  switch (drill?.kind) {
    case 'dark-as-designed':
      return ({ up, chargeRatio, darkForMs }) =>
        !up && darkForMs > 0.8 * DAY_MS && darkForMs < 5 * DAY_MS && chargeRatio < 0.4;
    case 'connector-failed':
      return ({ up, chargeRatio }) => up && chargeRatio > 0.14 && chargeRatio < 0.19;
    case 'board-failed':
    case 'weak-battery':
    case 'leaves':
    case undefined:
      return undefined;
  }
}

function endOf(site: SimulatedSite, life: NodeLife): End {
  const node = createSimulatedNode(site, life);
  const stoppedAtMs = walk(node, life.drillMs) ?? life.from.atMs;
  return {
    up: node.state().up,
    chargeRatio: node.chargeRatio(),
    darkForMs: life.drillMs - stoppedAtMs,
  };
}

/** Lives on in the steps in which the past is logged. @returns when it last said farewell */
function walk(
  node: {
    stepTo: (atMs: number) => readonly { kind: string; atMs: number }[];
    state: () => NodeState;
  },
  toMs: number,
): number | undefined {
  let stoppedAtMs: number | undefined;
  for (let atMs = node.state().atMs; atMs < toMs; atMs += LONGEST_STEP_MS)
    for (const event of node.stepTo(Math.min(toMs, atMs + LONGEST_STEP_MS)))
      if (event.kind === 'farewell') stoppedAtMs = event.atMs;
  return stoppedAtMs;
}
