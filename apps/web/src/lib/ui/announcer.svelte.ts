import { SECOND_MS } from '@duskline/domain';

/** What has happened is gathered for this long before it is read out. */
const GATHER_MS = 4 * SECOND_MS;

/** News for those who cannot see the page: gathered, then read out politely as one text. */
export class Announcer {
  #spoken = $state('');
  #waiting: string[] = [];
  #timer: ReturnType<typeof setTimeout> | undefined;

  get spoken(): string {
    return this.#spoken;
  }

  say(sentence: string): void {
    if (!this.#waiting.includes(sentence)) this.#waiting.push(sentence);
    this.#timer ??= setTimeout(() => {
      this.#spoken = this.#waiting.join(' ');
      this.#waiting = [];
      this.#timer = undefined;
    }, GATHER_MS);
  }
}
