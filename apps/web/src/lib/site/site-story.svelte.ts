import type {
  LearntJson,
  NodeDiagnosesJson,
  PartListJson,
  PhotoJson,
  SeasonJson,
  SettingsStoryJson,
  SiteStoryJson,
  WhatHelpsJson,
} from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { apiClient } from '../api-client.ts';
import { Asked } from './asked.svelte.ts';
import { partClient } from './part-client.ts';

const LOGBOOK_MS = 60 * DAY_MS;

/** What the page of one site tells beside its figures. Each part is asked for by itself: none waits for a slow one. */
export class SiteStory {
  readonly diagnoses = new Asked<NodeDiagnosesJson>();
  readonly helps = new Asked<WhatHelpsJson>();
  readonly season = new Asked<SeasonJson>();
  readonly learnt = new Asked<LearntJson>();
  readonly settings = new Asked<SettingsStoryJson>();
  readonly parts = new Asked<PartListJson>();
  readonly photos = new Asked<readonly PhotoJson[]>();
  readonly logbook = new Asked<SiteStoryJson>();
  readonly #siteId: string;
  readonly #node: string | undefined;
  readonly #seesPlace: boolean;
  #thinks = false;
  #isToThink = false;

  /** @param seesPlace may the reader see where the site is, and its pictures? */
  constructor(siteId: string, node: string | undefined, seesPlace: boolean) {
    this.#seesPlace = seesPlace;
    this.#siteId = siteId;
    this.#node = node;
  }

  /**
   * What follows from the outlook: asked again with every new one, though not before the last were answered; what takes the
   * server longest comes last.
   */
  async askThoughts(): Promise<void> {
    const node = this.#node;
    if (node === undefined) return;
    this.#isToThink = true;
    if (this.#thinks) return;
    this.#thinks = true;
    const api = apiClient();
    try {
      while (this.#isToThink) {
        this.#isToThink = false;
        await this.learnt.ask(() => api.learnt(node));
        await this.helps.ask(() => api.whatHelps(node));
        await this.season.ask(() => api.season(node));
      }
    } finally {
      this.#thinks = false;
    }
  }

  /** What may have changed with any news. */
  askNews(nowMs: number): void {
    const api = apiClient();
    void this.logbook.ask(() => api.siteStory(this.#siteId, nowMs - LOGBOOK_MS, nowMs));
    void this.parts.ask(() => api.parts(this.#siteId));
    if (this.#seesPlace) void this.photos.ask(() => partClient(this.#siteId).photos());
    const node = this.#node;
    if (node === undefined) return;
    void this.diagnoses.ask(() => api.diagnoses(node));
    void this.askSettings();
  }

  async askSettings(): Promise<void> {
    const node = this.#node;
    if (node !== undefined) await this.settings.ask(() => apiClient().nodeSettings(node));
  }
}
