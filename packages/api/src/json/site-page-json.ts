import type { FleetRowJson, SitePageJson } from '@duskline/contract';
import {
  metric,
  type DayBalance,
  type LatestReading,
  type NodeInterval,
  type PowerSystem,
  type SiteView,
} from '@duskline/domain';
import { finite, finiteOrNull } from './finite.ts';
import { instant, instantOrNull } from './instant.ts';

interface PageFacts {
  readonly row: FleetRowJson;
  readonly days: readonly DayBalance[];
  /** Oldest first. */
  readonly intervals: readonly NodeInterval[];
  readonly latest: readonly LatestReading[];
}

export function sitePageJson({ site, node }: SiteView, facts: PageFacts): SitePageJson {
  return {
    row: facts.row,
    access: site.access,
    hazards: site.hazards,
    power: node === undefined ? null : powerJson(node.power),
    days: facts.days.map((day) => ({
      dayStart: instant(day.dayStartMs),
      harvestWh: finiteOrNull(day.harvestWh, 'harvestWh'),
      loadWh: finiteOrNull(day.loadWh, 'loadWh'),
      hoursHeard: day.hoursHeard,
    })),
    intervals: facts.intervals.toReversed().map((interval) => ({
      state: interval.state,
      from: instant(interval.fromMs),
      to: instantOrNull(interval.toMs),
      cause: interval.cause,
      evidence: [...interval.evidence],
    })),
    latest: facts.latest.map((reading) => {
      const { label, unit } = metric(reading.metric);
      return {
        metric: reading.metric,
        label,
        unit,
        value: finite(reading.value, reading.metric),
        observedAt: instant(reading.observedAtMs),
      };
    }),
    metrics: facts.latest.map((reading) => reading.metric),
  };
}

const powerJson = (power: PowerSystem): SitePageJson['power'] => ({
  panelW: power.panel.ratedW,
  panelTiltDeg: power.panel.tiltDeg,
  panelAzimuthDeg: power.panel.azimuthDeg,
  batteryChemistry: power.battery.chemistry,
  batteryWh: power.battery.ratedWh,
  seriesCells: power.battery.seriesCells,
  charger: power.charger,
  shutDownRatio: power.shutDownRatio,
  restartRatio: power.restartRatio,
  offStateDrawW: power.offStateDrawW,
  usualGapS: power.usualGapS,
});
