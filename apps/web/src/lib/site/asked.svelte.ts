import { ApiProblem } from '../api-client.ts';

export type Answer<T> =
  | { readonly kind: 'waiting' }
  | { readonly kind: 'there'; readonly value: T }
  | { readonly kind: 'failed'; readonly why: string };

/**
 * One question to the API whose answer a part of a page waits for. Asked again, the last answer stays until the next is there:
 * nothing jumps under a reader's eyes.
 */
export class Asked<T> {
  answer = $state.raw<Answer<T>>({ kind: 'waiting' });
  #round = 0;

  async ask(question: () => Promise<T>): Promise<void> {
    this.#round += 1;
    const round = this.#round;
    try {
      const value = await question();
      if (round === this.#round) this.answer = { kind: 'there', value };
    } catch (cause) {
      if (!(cause instanceof ApiProblem)) throw cause;
      if (round === this.#round && this.answer.kind !== 'there')
        this.answer = { kind: 'failed', why: cause.message };
    }
  }

  /** What was asked for another subject is not shown for this one. */
  forget(): void {
    this.#round += 1;
    this.answer = { kind: 'waiting' };
  }
}
