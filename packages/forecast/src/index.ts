export { estimateCharge } from './estimate-charge.ts';
export type { ForecastInputs } from './forecast-inputs.ts';
export { forecastNode } from './forecast-node.ts';
