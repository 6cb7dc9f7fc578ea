import type { FleetJson, FleetRowJson } from '@duskline/contract';
import { DAY_MS, HOUR_MS, type SiteId, type SiteView } from '@duskline/domain';
import type { ApiDeps } from './api-deps.ts';
import { createFleetNights } from './fleet-nights.ts';
import { fleetRowJson } from './json/fleet-row-json.ts';
import { instant } from './json/instant.ts';

/** The shared time axis: seven days of charge, fourteen of outlook. It moves by whole hours. */
const BACK_MS = 7 * DAY_MS;
const AHEAD_MS = 14 * DAY_MS;
/** Fourteen days of fan are drawn some 300 pixels wide: nearer points than this cannot be told apart. */
const FAN_STEP_MS = 3 * HOUR_MS;

export interface FleetReader {
  /** All rows on one axis, by name of the site. */
  fleet(nowMs: number): Promise<FleetJson>;
  /** One row as the fleet page and the socket show it. Undefined: no such site. */
  row(siteId: SiteId, nowMs: number): Promise<FleetRowJson | undefined>;
  /** Rows of views already read, as the socket shows them. */
  rows(seen: readonly SiteView[], nowMs: number): Promise<readonly FleetRowJson[]>;
  /** The row of a view already read, with the whole fan as the site page draws it. */
  pageRow(view: SiteView, nowMs: number): Promise<FleetRowJson>;
}

/** Makes rows of the fleet page from what the store knows, for the API and for whoever publishes them live. */
export function createFleetReader({
  views,
  nightsBetween,
}: Pick<ApiDeps, 'views' | 'nightsBetween'>): FleetReader {
  const nights = createFleetNights(nightsBetween);

  function draw(
    view: SiteView,
    axis: Axis,
    drawn: {
      readonly week: readonly (number | null)[] | undefined;
      readonly fanUntilMs: number;
      readonly fanMinStepMs: number;
    },
  ): FleetRowJson {
    return fleetRowJson(view, {
      ...drawn,
      weekStartMs: axis.fromMs,
      week: drawn.week ?? nothingHeard(axis),
      nights: nights(view.site.position, axis.fromMs, axis.toMs),
    });
  }

  const rowOf = (view: SiteView, axis: Axis, week: readonly (number | null)[] | undefined) =>
    draw(view, axis, { week, fanUntilMs: axis.toMs, fanMinStepMs: FAN_STEP_MS });

  const weekOf = async (siteId: SiteId, axis: Axis) =>
    (await views.weekTraces(axis.fromMs, axis.weekEndMs, [siteId])).get(siteId);

  return {
    async fleet(nowMs) {
      const axis = axisAt(nowMs);
      const [all, weeks] = await Promise.all([
        views.fleet(),
        views.weekTraces(axis.fromMs, axis.weekEndMs),
      ]);
      return {
        now: instant(nowMs),
        axisFrom: instant(axis.fromMs),
        axisTo: instant(axis.toMs),
        rows: all.map((view) => rowOf(view, axis, weeks.get(view.site.id))),
      };
    },
    async row(siteId, nowMs) {
      const axis = axisAt(nowMs);
      const [view, week] = await Promise.all([views.site(siteId), weekOf(siteId, axis)]);
      return view === undefined ? undefined : rowOf(view, axis, week);
    },
    async rows(seen, nowMs) {
      const axis = axisAt(nowMs);
      const weeks = await views.weekTraces(
        axis.fromMs,
        axis.weekEndMs,
        seen.map(({ site }) => site.id),
      );
      return seen.map((view) => rowOf(view, axis, weeks.get(view.site.id)));
    },
    async pageRow(view, nowMs) {
      const axis = axisAt(nowMs);
      const week = await weekOf(view.site.id, axis);
      return draw(view, axis, { week, fanUntilMs: Infinity, fanMinStepMs: HOUR_MS });
    },
  };
}

interface Axis {
  readonly fromMs: number;
  /** The end of the present hour. */
  readonly weekEndMs: number;
  readonly toMs: number;
}

function axisAt(nowMs: number): Axis {
  const hourMs = Math.floor(nowMs / HOUR_MS) * HOUR_MS;
  return { fromMs: hourMs - BACK_MS, weekEndMs: hourMs + HOUR_MS, toMs: hourMs + AHEAD_MS };
}

const nothingHeard = (axis: Axis): readonly null[] =>
  new Array<null>((axis.weekEndMs - axis.fromMs) / HOUR_MS).fill(null);
