export type EmbeddedPostgresFault =
  | 'no-binaries'
  | 'port-taken'
  | 'in-use'
  | 'other-version'
  | 'no-account'
  | 'did-not-start'
  | 'did-not-stop';

/** The embedded Postgres could not be started or ended; the message says what to do about it. */
export class EmbeddedPostgresError extends Error {
  readonly code: EmbeddedPostgresFault;

  constructor(code: EmbeddedPostgresFault, message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = 'EmbeddedPostgresError';
    this.code = code;
  }
}
