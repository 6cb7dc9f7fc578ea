import type { RoundsJson } from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { instantMs } from '../format/time.ts';

/** Must somebody go there within a week? What lies further ahead is told, and calls nobody. */
export const isPressing = ({ need }: RoundsJson['sites'][number], nowMs: number): boolean =>
  need.kind === 'by' && need.at !== null && instantMs(need.at) - nowMs < 7 * DAY_MS;
