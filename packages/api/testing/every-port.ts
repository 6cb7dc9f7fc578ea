import type { ApiDeps } from '../src/api-deps.ts';

/** Stands in for any port where only its routes matter: whatever is asked of it fails. */
const anyPort: unknown = new Proxy(() => undefined, {
  get: (_target, name) => (name === 'then' ? undefined : anyPort),
  apply: () => Promise.reject(new Error('nothing is to be asked of this port')),
});

/** With these every route there can be is there. */
export const everyPort = {
  parts: anyPort,
  photos: anyPort,
  outlookDesk: anyPort,
  settings: anyPort,
  story: anyPort,
  watch: anyPort,
  cards: anyPort,
  exports: anyPort,
  metrics: anyPort,
  trips: anyPort,
} as Pick<
  ApiDeps,
  | 'parts'
  | 'photos'
  | 'outlookDesk'
  | 'settings'
  | 'story'
  | 'watch'
  | 'cards'
  | 'exports'
  | 'metrics'
  | 'trips'
>;
