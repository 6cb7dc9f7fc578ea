export { estimateCharge } from './estimate-charge.ts';
export { estimatePastCharges, withPastCharges } from './estimate-past-charges.ts';
export type { ForecastInputs } from './forecast-inputs.ts';
export { forecastNode, type ForecastPaths, forecastPaths } from './forecast-node.ts';
