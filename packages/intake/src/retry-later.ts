/**
 * The message was neither stored nor quarantined: it must not be acknowledged. Whoever holds it keeps it and sends it
 * again.
 */
export class RetryLater extends Error {
  readonly code = 'retry-later';

  constructor(reason: string, cause?: unknown) {
    super(reason, { cause });
    this.name = 'RetryLater';
  }
}
