/** A message that cannot be written: a bug of the caller, never of what came in. */
export class WireEncodeError extends Error {
  readonly code = 'WIRE_ENCODE_INVALID';

  constructor(what: string) {
    super(`This cannot be written as a message: ${what}`);
    this.name = 'WireEncodeError';
  }
}
