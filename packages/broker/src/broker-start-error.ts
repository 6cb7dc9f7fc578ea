export type BrokerStartCode = 'broker-port-taken' | 'broker-port-forbidden' | 'broker-not-started';

/** The broker could not open its port. The message says which, why, and what to do about it. */
export class BrokerStartError extends Error {
  readonly code: BrokerStartCode;

  constructor(code: BrokerStartCode, message: string, cause: unknown) {
    super(message, { cause });
    this.name = 'BrokerStartError';
    this.code = code;
  }

  /**
   * @param cause what `listen` failed with
   * @param at    the address that was asked for, e.g. "127.0.0.1:1883"
   */
  static from(cause: NodeJS.ErrnoException, at: string): BrokerStartError {
    if (cause.code === 'EADDRINUSE') {
      return new BrokerStartError(
        'broker-port-taken',
        `Another program already listens on ${at}, the MQTT port. Stop it, or choose another port.`,
        cause,
      );
    }
    if (cause.code === 'EACCES') {
      return new BrokerStartError(
        'broker-port-forbidden',
        `This account may not listen on ${at}, the MQTT port. Choose a port above 1023.`,
        cause,
      );
    }
    return new BrokerStartError(
      'broker-not-started',
      `The MQTT port ${at} could not be opened: ${cause.message}`,
      cause,
    );
  }
}
