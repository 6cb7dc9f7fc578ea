import type { ApiDeps } from '../api-deps.ts';
import type { StaSource } from './sta-source.ts';

/** What an answer is made with. */
export interface StaDesk {
  readonly deps: Pick<ApiDeps, 'readings' | 'now'>;
  readonly source: StaSource;
  /** Address of the service, without a slash at its end. */
  readonly root: string;
}
