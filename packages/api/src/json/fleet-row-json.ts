import type { FleetRowJson } from '@duskline/contract';
import { HOUR_MS, SECOND_MS, type SiteView } from '@duskline/domain';
import { fanJson } from './fan-json.ts';
import { instant } from './instant.ts';
import { siteJson } from './site-json.ts';
import { wholePercent } from './whole-percent.ts';

/** What is drawn on a row beside the site's own figures. */
export interface RowDrawing {
  /** The hour the trace starts with. */
  readonly weekStartMs: number;
  /** Hourly mean charge (0–1), null where nothing was heard. */
  readonly week: readonly (number | null)[];
  readonly fanUntilMs: number;
  readonly fanMinStepMs: number;
  readonly nights: readonly (readonly [string, string])[];
}

export function fleetRowJson(view: SiteView, drawing: RowDrawing): FleetRowJson {
  return {
    site: siteJson(view),
    week: {
      start: instant(drawing.weekStartMs),
      stepS: HOUR_MS / SECOND_MS,
      percent: drawing.week.map((ratio) => (ratio === null ? null : wholePercent(ratio))),
    },
    fan: fanJson(view.outlook, {
      untilMs: drawing.fanUntilMs,
      minStepMs: drawing.fanMinStepMs,
    }),
    nights: drawing.nights.map(([fromAt, toAt]) => [fromAt, toAt]),
  };
}
