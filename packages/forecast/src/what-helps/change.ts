import { clearSkyHours } from '../clear-sky-hours.ts';
import { referenceHourlyWh } from '@duskline/energy';
import type { Position, PowerSystem } from '@duskline/domain';
import { DAY_MS } from '@duskline/domain';
import type { PreparedWalk } from '../prepare-walk.ts';
import type { WalkPlan } from '../walk.ts';

/** One thing a person could do for a node. Shares 0–1; factors against what stands now. */
export type Change =
  /** The way of the harvest into the battery is whole again from now on; where it has not stopped nothing changes. */
  | { readonly kind: 'mend-harvest'; readonly cause: string }
  /** All of the load, day and night: fewer readings, fewer messages. */
  | { readonly kind: 'log-less'; readonly savedShare: number }
  /** The load in the hours without sun. */
  | { readonly kind: 'less-at-night'; readonly savedShare: number }
  /** The panel gives so many times what it gives now. */
  | { readonly kind: 'clean-panel'; readonly factor: number }
  | { readonly kind: 'bigger-panel'; readonly factor: number }
  /** As full as the present one. */
  | { readonly kind: 'bigger-battery'; readonly factor: number }
  | { readonly kind: 'tilt'; readonly tiltDeg: number };

/**
 * The time ahead with one thing changed. Steps, weather and draws stay the same, so that paths can be compared one by one.
 *
 * @throws RangeError when a share or factor is out of range (a caller's bug)
 */
export function changedPlan(prepared: PreparedWalk, change: Change): WalkPlan {
  const { plan, place, learning, mended } = prepared;
  switch (change.kind) {
    case 'mend-harvest':
      return mended ?? plan;
    case 'log-less': {
      const left = leftOf(change.savedShare);
      return { ...plan, loadW: plan.loadW.map((loadW) => loadW * left) };
    }
    case 'less-at-night': {
      const left = leftOf(change.savedShare);
      const { loadW } = plan;
      // A dead panel does not make night of the day.
      const { referenceW } = mended ?? plan;
      return { ...plan, loadW: loadW.map((watt, i) => (referenceW[i] === 0 ? watt * left : watt)) };
    }
    case 'clean-panel':
    case 'bigger-panel': {
      const factor = factorOf(change.factor);
      return { ...plan, referenceW: plan.referenceW.map((watt) => watt * factor) };
    }
    case 'bigger-battery': {
      const factor = factorOf(change.factor);
      const { pack } = plan;
      return {
        ...plan,
        pack: {
          ...pack,
          capacityWh: pack.capacityWh * factor,
          capacityWhByDegree: pack.capacityWhByDegree.map((energyWh) => energyWh * factor),
        },
      };
    }
    case 'tilt': {
      const sky = skyIndexOf(learning);
      const hours = Math.ceil(plan.nowH + plan.horizonH);
      const site = { position: place.position, startMs: place.startMs, hours, clearSkyIndex: sky };
      const nowWh = clearSkyHours({ ...site, panel: place.panel });
      const thenWh = clearSkyHours({
        ...site,
        panel: { ...place.panel, tiltDeg: change.tiltDeg },
      });
      const factors = dayFactors(nowWh, thenWh);
      let atH = 0;
      const referenceW = plan.referenceW.map((watt, step) => {
        if (step >= plan.steps) return watt;
        const factor = factors[Math.min(factors.length - 1, Math.floor(atH / 24))]!;
        atH += plan.lengthH[step]!;
        return watt * factor;
      });
      return { ...plan, referenceW };
    }
  }
}

function leftOf(savedShare: number): number {
  if (!(savedShare >= 0 && savedShare <= 1))
    throw new RangeError(`A saved share lies in [0, 1]: ${savedShare}.`);
  return 1 - savedShare;
}

function factorOf(factor: number): number {
  if (!(factor > 0)) throw new RangeError(`A factor is above 0: ${factor}.`);
  return factor;
}

/** A turned panel gains under a clear sky and loses its gain under cloud: the site's own typical sky decides. */
const SKY_RANGE = [0.15, 1] as const;

function skyIndexOf({ days, siteScale }: PreparedWalk['learning']): number {
  if (days.length === 0) return 0.5;
  const mean = days.reduce((sum, { ratio }) => sum + ratio, 0) / days.length;
  return Math.min(SKY_RANGE[1], Math.max(SKY_RANGE[0], mean / Math.max(0.05, siteScale)));
}

/** Day by day counted from the start of the walk. */
function dayFactors(nowWh: Float64Array, thenWh: Float64Array): readonly number[] {
  const factors: number[] = [];
  for (let from = 0; from < nowWh.length; from += 24) {
    let now = 0;
    let then = 0;
    for (let hour = from; hour < Math.min(nowWh.length, from + 24); hour++) {
      now += nowWh[hour]!;
      then += thenWh[hour]!;
    }
    factors.push(now > 0 ? then / now : 1);
  }
  return factors;
}

const TILT_STEP_DEG = 5;

/** The tilt that gives most over the time ahead under the site's typical sky, its azimuth kept. */
export function bestTiltDeg({ place, plan, learning }: PreparedWalk): number {
  const aheadDays = plan.horizonH / 24;
  const dates = [0.1, 0.5, 0.9].map((share) => place.nowMs + share * aheadDays * DAY_MS);
  const sky = skyIndexOf(learning);
  let best = place.panel.tiltDeg;
  let most = energyOf(place.position, place.panel, dates, sky);
  for (let tiltDeg = 0; tiltDeg <= 90; tiltDeg += TILT_STEP_DEG) {
    const energyWh = energyOf(place.position, { ...place.panel, tiltDeg }, dates, sky);
    if (energyWh > most) {
      most = energyWh;
      best = tiltDeg;
    }
  }
  return best;
}

function energyOf(
  position: Position,
  panel: PowerSystem['panel'],
  dates: readonly number[],
  clearSkyIndex: number,
): number {
  let sum = 0;
  for (const startMs of dates)
    for (const energyWh of referenceHourlyWh({
      position,
      panel,
      startMs,
      hours: 24,
      clearSkyIndex,
    }))
      sum += energyWh;
  return sum;
}
