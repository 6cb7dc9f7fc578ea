import { DAY_MS, HOUR_MS } from '@duskline/domain';
import type { SimulatedSite } from './fleet.ts';
import { createSimulatedNode, type NodeHistory, type Tuning } from './simulated-node.ts';
import type { Weather } from './weather.ts';

const AS_IT_IS: Tuning = { burden: 1, light: 1 };
/** Tried in this order: the site as it is first, then ever further from it. */
const LOADS_AND_LIGHTS: readonly Tuning[] = [1, 0.7, 0.5, 0.35, 0.22, 0.12].flatMap((light) =>
  [1, 1.15, 0.9, 1.3, 0.8, 1.5, 0.65, 1.8, 0.5, 2.2, 0.4, 2.7, 3.4].map((burden) => ({
    burden,
    light,
  })),
);
/**
 * The charge falls steadily once the panel gives nothing: when it failed decides how much is left. A lighter load lives
 * through darker weather, and takes longer to run down: the moments tried reach back as far as that takes.
 */
const FAILURES: readonly Tuning[] = [1, 0.7, 0.5, 0.35, 0.25].flatMap((burden) =>
  Array.from({ length: 40 }, (_, i) => ({
    burden,
    light: 1,
    failedDaysAgo: (0.6 + i * 0.18) / burden,
  })),
);

/**
 * The load and light under which a drill shows at the moment it is about, whatever the season and the weather of the day.
 *
 * A node that should be dark by now must have stopped one to five days ago; one whose panel gives nothing must be low by
 * now, and not yet dark. Other drills, and none, keep the site as it is.
 */
export function tuneDrill(
  site: SimulatedSite,
  siteIndex: number,
  weather: Weather,
  history: Omit<NodeHistory, 'tuning'>,
): Tuning {
  const wanted = wantedEnd(site);
  if (wanted === undefined) return AS_IT_IS;
  const tunings = site.drill?.kind === 'connector-failed' ? FAILURES : LOADS_AND_LIGHTS;
  return (
    tunings.find((tuning) => wanted(endOf(site, siteIndex, weather, { ...history, tuning }))) ??
    AS_IT_IS
  );
}

interface End {
  readonly up: boolean;
  readonly chargeRatio: number;
  readonly darkForMs: number;
}

function wantedEnd(site: SimulatedSite): ((end: End) => boolean) | undefined {
  switch (site.drill?.kind) {
    case 'dark-as-designed':
      return ({ up, chargeRatio, darkForMs }) =>
        !up && darkForMs > 0.8 * DAY_MS && darkForMs < 5 * DAY_MS && chargeRatio < 0.4;
    case 'connector-failed':
      return ({ up, chargeRatio }) => up && chargeRatio > 0.14 && chargeRatio < 0.2;
    case 'board-failed':
    case 'weak-battery':
    case 'leaves':
    case undefined:
      return undefined;
  }
}

function endOf(
  site: SimulatedSite,
  siteIndex: number,
  weather: Weather,
  history: NodeHistory,
): End {
  const node = createSimulatedNode(site, siteIndex, weather, history);
  let stoppedAtMs = history.startMs;
  for (let atMs = history.startMs; atMs < history.drillMs; atMs += HOUR_MS)
    for (const event of node.stepTo(atMs + HOUR_MS))
      if (event.kind === 'farewell') stoppedAtMs = event.atMs;
  return {
    up: node.isUp(),
    chargeRatio: node.chargeRatio(),
    darkForMs: history.drillMs - stoppedAtMs,
  };
}
