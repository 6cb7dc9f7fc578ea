export { newApiToken, type NewApiToken } from './access/api-token.ts';
export { createAuthenticator, type Authenticator } from './access/authenticator.ts';
export { hashPassword } from './access/passwords.ts';
export type { Principal } from './access/principal.ts';
export { sessionCookie } from './access/session-cookie.ts';
export {
  createSignInThrottle,
  type SignInCounts,
  type SignInThrottle,
} from './access/sign-in-throttle.ts';
export type { CardPort, CardRefusal } from './card-port.ts';
export type { ExportFile, ExportPort, ExportReader, ExportRefusal } from './export-port.ts';
export type { ApiDeps, DoorSettings, ReadinessCheck } from './api-deps.ts';
export { createApi } from './create-api.ts';
export { createFleetReader, type FleetReader } from './fleet-reader.ts';
export { alertInItsCause } from './json/alert-json.ts';
export { rowWithoutPlace } from './json/row-without-place.ts';
export { fleetRowJson, type RowDrawing } from './json/fleet-row-json.ts';
export { outlookJson } from './json/outlook-json.ts';
export { siteJson } from './json/site-json.ts';
export { withoutPlace } from './access/seen-place.ts';
export type { KeptVisitFacts, RoundsPort } from './rounds-port.ts';
export type { SettingsPort, SettingsStory } from './settings-port.ts';
export type { StoryPort } from './story-port.ts';
export type { RuleWords, WatchPorts } from './watch-port.ts';
export type { SizingFault, SizingPort } from './sizing-port.ts';
export type { QuarantineChoice, QuarantinePort, ReplayQuarantine } from './quarantine-port.ts';
export type { OutlookDesk, OutsideFault, PartPort } from './outlook-desk.ts';
