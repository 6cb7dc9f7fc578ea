export { isDatabaseLost, TransactionLostError } from './database/database-errors.ts';
export { MigrationError, StoreConflictError, StoreInputError } from './errors.ts';
export {
  startEmbeddedPostgres,
  type EmbeddedPostgres,
  type EmbeddedPostgresOptions,
} from './embedded/start-embedded-postgres.ts';
export { EmbeddedPostgresError } from './embedded/embedded-postgres-error.ts';
export { migrateStore } from './migrate-store.ts';
export { openStore } from './open-store.ts';
export type * from './alert-store.ts';
export type * from './card-import-store.ts';
export type * from './export-store.ts';
export type * from './checked-readings.ts';
export type { FleetAdvance } from './commit-fleet.ts';
export type * from './learnt-store.ts';
export type * from './lease-store.ts';
export type * from './outbox-store.ts';
export type * from './outlook-store.ts';
export type * from './outside-forecast-store.ts';
export type * from './part-store.ts';
export type * from './photo-store.ts';
export type * from './people-store.ts';
export type { TardyPast, ToldPast } from './past.ts';
export type * from './quality-check.ts';
export type * from './quarantine-store.ts';
export type * from './rollup-store.ts';
export type * from './score-store.ts';
export type * from './settings-request-store.ts';
export type * from './sign-store.ts';
export type * from './store.ts';
export type * from './visit-store.ts';
export type * from './watch-store.ts';
