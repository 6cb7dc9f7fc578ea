import type { SiteId } from '@duskline/domain';

/** A weather forecast from outside, as JSON whose shape is the forecaster's. */
export interface NewOutsideForecast {
  readonly siteId: SiteId;
  readonly source: string;
  readonly issuedAtMs: number;
  readonly receivedAtMs: number;
  readonly by: string;
  readonly body: unknown;
}

export interface OutsideForecastRecord extends NewOutsideForecast {
  readonly id: string;
  /** When the last outlook that used it was issued. */
  readonly lastUsedAtMs?: number;
}

export interface OutsideForecastStore {
  /**
   * The same source and time of issue again takes the place of what came before.
   *
   * @returns undefined when an outlook was made of what came before: that is never changed
   */
  add(forecast: NewOutsideForecast): Promise<OutsideForecastRecord | undefined>;
  /** The newest first. */
  list(siteId: SiteId, limit: number): Promise<readonly OutsideForecastRecord[]>;
  find(id: string): Promise<OutsideForecastRecord | undefined>;
  /** The newest that was issued and received by then. */
  newest(siteId: SiteId, nowMs: number): Promise<OutsideForecastRecord | undefined>;
}
