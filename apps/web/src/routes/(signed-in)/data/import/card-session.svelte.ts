import type { CardConflictsJson, CardImportJson, CardSettingsJson } from '@duskline/contract';
import { apiClient, ApiProblem } from '$lib/api-client.ts';

const PIECE_BYTES = 4 * 1024 * 1024;
const ASK_EVERY_MS = 400;

/** One card on its way in: brings the files, has them read and stored, and follows how far it is. */
export class CardSession {
  card = $state.raw<CardImportJson>();
  /** Share of the bytes that are here, while files are brought. */
  brought = $state<number>();
  failure = $state('');
  conflicts = $state.raw<CardConflictsJson['conflicts']>([]);
  #ended = false;

  readonly bring = (node: string, files: readonly File[]): Promise<void> =>
    this.#try(async () => {
      const api = apiClient();
      const all = files.reduce((sum, { size }) => sum + size, 0);
      const card = await api.openCard({
        node,
        files: files.map(({ name, size }) => ({ name, bytes: size })),
      });
      this.card = card;
      let before = 0;
      for (const [place, file] of files.entries()) {
        let offset = 0;
        while (offset < file.size) {
          const piece = file.slice(offset, offset + PIECE_BYTES);
          ({ received: offset } = await api.bringCard(card.id, place, offset, piece));
          this.brought = (before + offset) / Math.max(1, all);
        }
        before += file.size;
      }
      this.brought = undefined;
      await this.#follow(await api.readCard(card.id, {}), 'reading');
    });

  readonly read = (settings: CardSettingsJson): Promise<void> =>
    this.#step(async (id) => this.#follow(await apiClient().readCard(id, settings), 'reading'));

  readonly store = (): Promise<void> =>
    this.#step(async (id) => {
      await this.#follow(await apiClient().storeCard(id), 'storing');
      await this.moreConflicts();
    });

  readonly stop = (): Promise<void> =>
    this.#step(async (id) => {
      this.card = await apiClient().stopCard(id);
    });

  readonly discard = (): Promise<void> =>
    this.#step(async (id) => {
      await apiClient().discardCard(id);
      this.reset();
    });

  readonly moreConflicts = (): Promise<void> =>
    this.#step(async (id) => {
      const next = await apiClient().cardConflicts(id, this.conflicts.length);
      this.conflicts = [...this.conflicts, ...next.conflicts];
    });

  reset(): void {
    this.card = undefined;
    this.brought = undefined;
    this.conflicts = [];
    this.failure = '';
  }

  /** The page is left: nothing is asked any more. What is being stored goes on. */
  end(): void {
    this.#ended = true;
  }

  async #follow(first: CardImportJson, stage: 'reading' | 'storing'): Promise<void> {
    let now = first;
    this.card = now;
    while (now.stage === stage && !this.#ended) {
      await new Promise((resolve) => setTimeout(resolve, ASK_EVERY_MS));
      now = await apiClient().card(now.id);
      this.card = now;
    }
  }

  #step(take: (id: number) => Promise<void>): Promise<void> {
    const { card } = this;
    return card === undefined ? Promise.resolve() : this.#try(() => take(card.id));
  }

  async #try(work: () => Promise<void>): Promise<void> {
    this.failure = '';
    try {
      await work();
    } catch (cause) {
      if (!(cause instanceof ApiProblem)) throw cause;
      this.failure = cause.message;
      this.brought = undefined;
    }
  }
}
