import type { NodeId } from '@duskline/domain';
import { type Kysely, sql } from 'kysely';
import type { Tables } from './schema.ts';

/** Any number: it keeps these advisory locks apart from those of others. */
const ROLLUP_LOCK = 7_318;

/**
 * Until the transaction ends, nobody else writes what is summed up of this node: its hours, its days and its charge by the
 * day. Whoever writes more than one such row takes it first, else two of them wait for each other's rows. A transaction
 * that also locks the node's look (`commitAdvance`) has taken that lock before this one.
 */
export async function lockRollups(trx: Kysely<Tables>, node: NodeId): Promise<void> {
  await sql`select pg_advisory_xact_lock(${ROLLUP_LOCK}::integer, ${node}::integer)`.execute(trx);
}
