import type { Rule } from '../rule.ts';
import { chargeLow } from './charge-low.ts';
import { forecastLow } from './forecast-low.ts';
import { silentUnexplained } from './silent-unexplained.ts';

/** Every rule, in the order of the rationalisation table. */
export const rules: readonly Rule[] = [chargeLow, forecastLow, silentUnexplained];
