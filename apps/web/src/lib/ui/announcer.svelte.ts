import { SECOND_MS } from '@duskline/domain';

/** What has happened is gathered for this long before it is read out. */
const GATHER_MS = 4 * SECOND_MS;

/** News for those who cannot see the page: gathered, then read out politely as one text. */
export class Announcer {
  #spoken = $state('');
  #waiting: readonly string[] = [];

  get spoken(): string {
    return this.#spoken;
  }

  readonly #speak = (): void => {
    this.#spoken = this.#waiting.join(' ');
    this.#waiting = [];
  };

  say(sentence: string): void {
    if (this.#waiting.length === 0) setTimeout(this.#speak, GATHER_MS);
    if (!this.#waiting.includes(sentence)) this.#waiting = [...this.#waiting, sentence];
  }
}
