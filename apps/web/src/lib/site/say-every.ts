import { sayDuration, SECOND_MS } from '@duskline/domain';
import { withUnit } from '../format/quantity.ts';

/** An interval as people say it: "30 s", "5 min". */
export const sayEvery = (lengthS: number): string =>
  lengthS < 120 ? withUnit(lengthS, 's', 0) : sayDuration(lengthS * SECOND_MS);
