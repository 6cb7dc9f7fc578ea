export { createLive, type Live, type LiveOptions } from './create-live.ts';
export { EventWithoutPolicyError } from './event-policy.ts';
export type { Authenticate, LivePrincipal } from './live-principal.ts';
