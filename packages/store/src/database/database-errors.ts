/** The transaction's connection went away, or the database undid the transaction. */
export class TransactionLostError extends Error {
  readonly code = 'transaction-lost';
  /**
   * `rolled-back`: nothing of the transaction is in the database. `unknown`: the connection closed
   * between COMMIT and its answer; the work may be there, so only idempotent work may be repeated.
   */
  readonly outcome: 'rolled-back' | 'unknown';

  constructor(outcome: 'rolled-back' | 'unknown', options?: ErrorOptions) {
    super(
      outcome === 'rolled-back'
        ? 'The transaction was rolled back by the database.'
        : 'The connection closed while committing; the outcome is unknown.',
      options,
    );
    this.name = 'TransactionLostError';
    this.outcome = outcome;
  }
}

const connectionCodes = new Set([
  'CONNECTION_CLOSED',
  'CONNECTION_ENDED',
  'CONNECTION_DESTROYED',
  'CONNECT_TIMEOUT',
  'ECONNREFUSED',
  'ECONNRESET',
  'EHOSTUNREACH',
  'ENETUNREACH',
  'ENOENT',
  'ENOTFOUND',
  'EAI_AGAIN',
  'EPIPE',
  'ETIMEDOUT',
  '25006', // read_only_sql_transaction: a server that was demoted
  '53300', // too_many_connections
  '57P01', // admin_shutdown
  '57P02', // crash_shutdown
  '57P03', // cannot_connect_now
  '57P05', // idle_session_timeout
  'transaction-lost',
]);

/**
 * Whether an error says that the database could not be reached or went away, and not that the
 * statement was wrong. Such work may be tried again when it is idempotent.
 *
 * @param error anything thrown by a statement or a transaction.
 * @returns true for closed, refused or timed-out connections (class 08 and the codes above, of
 *   PostgreSQL's documentation, Appendix A "PostgreSQL Error Codes"); false for everything else.
 */
export function isDatabaseLost(error: unknown): boolean {
  if (typeof error !== 'object' || error === null || !('code' in error)) return false;
  const { code } = error;
  return typeof code === 'string' && (connectionCodes.has(code) || code.startsWith('08'));
}

/** A statement was given after the database had been closed by us. */
export class DatabaseClosedError extends Error {
  readonly code = 'database-closed';

  constructor() {
    super('The database was closed.');
    this.name = 'DatabaseClosedError';
  }
}

/**
 * Whether the server answered with an error and left the connection open, as for a violated
 * constraint; anything else (lost sockets, shutdowns, values that could not be written) leaves it in
 * an unknown state.
 */
export function isServerAnswer(error: unknown): boolean {
  const { name, severity } = (error ?? {}) as { name?: unknown; severity?: unknown };
  return name === 'PostgresError' && severity === 'ERROR';
}
