import type { SessionJson } from '@duskline/contract';
import { createContext } from 'svelte';
import type { Clock } from './live/clock.svelte.ts';
import type { LiveConnection } from './live/live-connection.svelte.ts';
import type { Announcer } from './ui/announcer.svelte.ts';

/** What every page behind the sign-in shares. */
export interface Signed {
  readonly session: () => SessionJson;
  readonly live: LiveConnection;
  readonly clock: Clock;
  readonly announcer: Announcer;
}

export const [getSigned, setSigned] = createContext<Signed>();
