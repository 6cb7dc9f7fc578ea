export { fleet, type Drill, type SimulatedSite } from './fleet.ts';
export { runFleet, type FleetOptions, type RunningFleet } from './run-fleet.ts';
