/** A caller handed in a number that no physics can use: a bug of the caller, never a normal day. */
export class EnergyInputError extends RangeError {
  readonly code = 'ENERGY_INPUT';

  constructor(name: string, value: unknown, expected: string) {
    super(`${name} is ${String(value)}; expected ${expected}`);
    this.name = 'EnergyInputError';
  }
}
