export { fleet, TIME_ZONE, type Drill, type SimulatedSite } from './fleet.ts';
export { throughDust, throughSnow } from './mishaps/glass.ts';
export { sound, type Mishap, type MishapAt, type PanelFate, type SkyAt } from './mishaps/mishap.ts';
export { withSpells, type Spell } from './mishaps/spells.ts';
export { sampleOf } from './publish-node.ts';
export { normalAt, seedOf } from './random.ts';
export { runFleet, type FleetOptions, type RunningFleet } from './run-fleet.ts';
export {
  createSimulatedNode,
  firstState,
  type NodeEvent,
  type NodeState,
  type SimulatedNode,
} from './simulated-node.ts';
export { surroundingsOf } from './surroundings.ts';
export { createWeather, type Weather } from './weather.ts';
