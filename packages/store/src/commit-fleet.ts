import { FLEET_NUMBER, type AlertChange, type RuleMemory } from '@duskline/domain';
import { sql } from 'kysely';
import { keepAlertChanges, keepRuleMemory } from './alert-changes.ts';
import type { Database } from './database/open-database.ts';
import type { Tables } from './schema.ts';

/** What one look at the fleet as a whole found. */
export interface FleetAdvance {
  readonly alertChanges: readonly AlertChange[];
  /** All of it: what is not named is forgotten. */
  readonly memory: readonly RuleMemory[];
  readonly nowMs: number;
}

const FLEET_LOCK = 7_317;

/** Keeps what a look at the fleet found, all of it or nothing; looks come one after the other. */
export function commitFleet(database: Database<Tables>, advance: FleetAdvance): Promise<void> {
  return database.transaction(async (trx) => {
    await sql`select pg_advisory_xact_lock(${FLEET_LOCK}::integer, 0)`.execute(trx);
    await keepAlertChanges(trx, FLEET_NUMBER, {
      changes: advance.alertChanges,
      nowMs: advance.nowMs,
    });
    await keepRuleMemory(trx, FLEET_NUMBER, advance.memory);
    if (advance.alertChanges.length > 0)
      await sql`select pg_notify('duskline_live', '0')`.execute(trx);
  });
}
