/** JSON has no word for these numbers and would silently write null: a bug further in, not an answer. */
export class NotFiniteError extends RangeError {
  readonly code = 'API_NUMBER_NOT_FINITE';

  constructor(value: number, name: string) {
    super(`${name} is ${value}`);
    this.name = 'NotFiniteError';
  }
}

/** @throws NotFiniteError for NaN and the infinities */
export function finite(value: number, name: string): number {
  if (!Number.isFinite(value)) throw new NotFiniteError(value, name);
  return value;
}

export const finiteOrNull = (value: number | undefined, name: string): number | null =>
  value === undefined ? null : finite(value, name);
