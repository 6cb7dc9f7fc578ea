import { MINUTE_MS } from './duration.ts';

/** Who is out in the field is back so long before sunset. Common practice, no source: half an hour at least. */
export const DARK_MARGIN_MS = 30 * MINUTE_MS;
