/** Who is to blame when a batch could not be stored. */
export type Blame =
  /** Something in one of the messages: the others could be stored without it. */
  | 'message'
  /** Two statements were in each other's way, or one connection was lost: the same again will most likely do. */
  | 'moment'
  /** The database, or the way to it: nothing can be stored now. */
  | 'database';

const SQLSTATE = /^[0-9A-Z]{5}$/;
/** Data exceptions, violated constraints, and a key twice in one statement (PostgreSQL, Appendix A, classes 22, 23, 21). */
const OF_THE_DATA = /^(22|23|21)/;
/** The store's own word for a value it will not even send to the database. */
const REFUSED_INPUT = 'store-input';
/**
 * Serialization failure, deadlock, lock not available, and a connection that was ended under the statement (PostgreSQL,
 * Appendix A; the driver and the system have their own words for the last).
 */
const OF_THE_MOMENT: readonly unknown[] = [
  '40001',
  '40P01',
  '55P03',
  '57P01',
  'CONNECTION_CLOSED',
  'ECONNRESET',
  'EPIPE',
];

/**
 * Reads the blame from an error by its SQLSTATE, also from its causes when the store has wrapped it. What cannot be told
 * is blamed on the database: then nothing is acknowledged and nothing is lost.
 */
export function blameFor(error: unknown): Blame {
  for (let at = error, depth = 0; at instanceof Error && depth < 5; at = at.cause, depth += 1) {
    const code: unknown = 'code' in at ? at.code : undefined;
    if (code === REFUSED_INPUT) return 'message';
    if (OF_THE_MOMENT.includes(code)) return 'moment';
    if (typeof code === 'string' && SQLSTATE.test(code)) {
      return OF_THE_DATA.test(code) ? 'message' : 'database';
    }
    if (at instanceof TypeError || at instanceof RangeError) return 'message';
  }
  return 'database';
}
