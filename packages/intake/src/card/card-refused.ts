/** A file that cannot be taken at all: damaged, a bomb, or no text. The message is for the person who brought it. */
export class CardRefused extends Error {
  readonly code:
    | 'card-too-large'
    | 'card-line-too-long'
    | 'card-packed-too-tightly'
    | 'card-damaged'
    | 'card-too-many-entries'
    | 'card-not-text';

  constructor(code: CardRefused['code'], message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = 'CardRefused';
    this.code = code;
  }
}
