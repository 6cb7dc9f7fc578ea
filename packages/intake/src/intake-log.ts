/** Where the intake says what a person should know. A pino logger fits as it is. */
export interface IntakeLog {
  readonly info: (facts: object, sentence: string) => void;
  readonly warn: (facts: object, sentence: string) => void;
  readonly error: (facts: object, sentence: string) => void;
}
