import { ApiProblem } from '../api-client.ts';

export type Answer<T> =
  | { readonly kind: 'waiting' }
  | { readonly kind: 'there'; readonly value: T }
  | { readonly kind: 'failed'; readonly why: string };

/**
 * One question to the API whose answer a part of a page waits for. Asked again, the last answer stays until the next is there:
 * nothing jumps under a reader's eyes. An answer that comes late is shown all the same, unless one to a later question is
 * there already: of a server that takes longer to answer than news to come, something is seen at last.
 */
export class Asked<T> {
  answer = $state.raw<Answer<T>>({ kind: 'waiting' });
  #asked = 0;
  #answered = 0;

  async ask(question: () => Promise<T>): Promise<void> {
    this.#asked += 1;
    const round = this.#asked;
    try {
      const value = await question();
      if (round <= this.#answered) return;
      this.#answered = round;
      this.answer = { kind: 'there', value };
    } catch (cause) {
      if (!(cause instanceof ApiProblem)) throw cause;
      if (round <= this.#answered || this.answer.kind === 'there') return;
      this.#answered = round;
      this.answer = { kind: 'failed', why: cause.message };
    }
  }

  /** What was asked for another subject is not shown for this one. */
  forget(): void {
    this.#answered = this.#asked;
    this.answer = { kind: 'waiting' };
  }
}
