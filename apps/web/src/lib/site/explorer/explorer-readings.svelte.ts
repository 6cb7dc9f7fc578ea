import { DAY_MS } from '@duskline/domain';
import { apiClient, ApiProblem } from '../../api-client.ts';
import { instantMs } from '../../format/time.ts';
import { shownSeries, type ShownSeries } from './shown-series.ts';
import { isoRange, type ViewWindow } from './view-window.ts';

const POINTS = 1600;
const DOUBTED_POINTS = 500;
/** Over more days nights are too thin to be drawn. */
const MOST_DAYS_OF_NIGHTS = 31;

/** What the explorer asked for last: of several questions under way the newest counts. */
export class ExplorerReadings {
  series = $state.raw<readonly ShownSeries[]>([]);
  nights = $state.raw<readonly (readonly [number, number])[]>([]);
  busy = $state(false);
  fault = $state('');
  readonly #siteId: () => string;
  #round = 0;

  constructor(siteId: () => string) {
    this.#siteId = siteId;
  }

  /** @returns whether the answer is the one that is shown now */
  async ask(
    { fromMs, toMs }: ViewWindow,
    metrics: readonly string[],
    withDoubted: boolean,
  ): Promise<boolean> {
    this.#round += 1;
    const mine = this.#round;
    this.busy = true;
    this.fault = '';
    // Some more on both sides, so that a small move needs no new question.
    const more = (toMs - fromMs) / 4;
    const range = { ...isoRange({ fromMs: fromMs - more, toMs: toMs + more }), points: POINTS };
    const api = apiClient();
    const siteId = this.#siteId();
    try {
      const found = await Promise.all(
        metrics.map(async (metric) => {
          const [good, bad] = await Promise.all([
            api.readings(siteId, { metric, ...range }),
            withDoubted
              ? api.readings(siteId, {
                  metric,
                  ...range,
                  points: DOUBTED_POINTS,
                  flags: 'suspect,fail',
                })
              : undefined,
          ]);
          return shownSeries(good, bad);
        }),
      );
      const dark =
        toMs - fromMs > MOST_DAYS_OF_NIGHTS * DAY_MS
          ? []
          : (await api.siteStory(siteId, fromMs, toMs)).nights;
      if (mine !== this.#round) return false;
      this.series = found;
      this.nights = dark.map(([from, to]) => [instantMs(from), instantMs(to)] as const);
      return true;
    } catch (cause) {
      if (!(cause instanceof ApiProblem)) throw cause;
      if (mine === this.#round) this.fault = cause.message;
      return false;
    } finally {
      if (mine === this.#round) this.busy = false;
    }
  }
}
