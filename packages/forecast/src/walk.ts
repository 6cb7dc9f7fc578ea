import { advanceBattery, type BatteryPack, startBatteryWalk } from '@duskline/energy';

/** What all paths share: the clock, the clear sky, the expected load, the battery. */
export interface WalkPlan {
  readonly steps: number;
  /** Length of each step, h: one by day, up to six by night. */
  readonly lengthH: Uint8Array;
  /** Clear-sky power of the nominal panel over each step, mean W. */
  readonly referenceW: Float64Array;
  /** Expected load over each step, mean W. */
  readonly loadW: Float64Array;
  /** Simulated solar day of each step, 0 = the day of the start. */
  readonly day: Uint16Array;
  /** Hour of the solar day of each step, 0–23. */
  readonly slot: Uint8Array;
  /** Battery temperature by pool day and slot, °C. */
  readonly temperatureC: Float32Array;
  readonly pack: BatteryPack;
  readonly startsAs: 'up' | 'dark';
  /** Charge is noted from now on, every so many hours, `count` times; steps never run across such an hour. */
  readonly fan: { readonly everyH: number; readonly count: number };
  /** Now, in hours from the start. A path that starts dark and is back by then is of no interest: the node is not. */
  readonly nowH: number;
  /** From now to the horizon, h. */
  readonly horizonH: number;
}

/** One possible future; written over for every path. */
export interface PathDraw {
  /** Yield ratio, day of the pool for temperatures, and load against the expected, by simulated day. */
  readonly ratio: Float64Array;
  readonly poolDay: Int32Array;
  readonly loadFactor: Float64Array;
  /** What the panel gives against what was learnt. */
  scale: number;
  /** Present capacity against what was put up. */
  capacityFactor: number;
  startRatio: number;
}

/** What came of the paths. */
export interface WalkTracks {
  /** Hours from the start to the first stop and to the first return; Infinity = not within the steps. */
  readonly emptyHours: Float64Array;
  readonly returnHours: Float64Array;
  /** Charge ratio at the fan's steps: `[path · count + k]`. */
  readonly charge: Float32Array;
}

export function newTracks(paths: number, fanCount: number): WalkTracks {
  return {
    emptyHours: new Float64Array(paths).fill(Number.POSITIVE_INFINITY),
    returnHours: new Float64Array(paths).fill(Number.POSITIVE_INFINITY),
    charge: new Float32Array(paths * fanCount),
  };
}

/**
 * Walks one path through the hours: sun of the drawn weather in, load out, dark at the shut-down level, back at the restart
 * level. The loop allocates nothing.
 *
 * The walk ends early once the path's fate is known and its part of the fan is drawn.
 *
 * @param plan    arrays at least `steps` long
 * @param draw    arrays at least as long as there are simulated days; ratios and factors ≥ 0
 * @param tracks  written at `path`
 * @param path    0 … number of paths − 1
 * @source ours: hourly balance of `advanceBattery`, which is exact within the hour
 */
export function walkPath(plan: WalkPlan, draw: PathDraw, tracks: WalkTracks, path: number): void {
  const { steps, lengthH, referenceW, loadW, day, slot, temperatureC, nowH } = plan;
  const { everyH, count } = plan.fan;
  const { ratio, poolDay, loadFactor } = draw;
  const { charge, emptyHours, returnHours } = tracks;
  const startsDark = plan.startsAs === 'dark';
  // A battery k times as large under the same flows runs as the same battery under flows k times smaller.
  const flow = 1 / draw.capacityFactor;
  const pack: BatteryPack = { ...plan.pack, offStateDrawW: plan.pack.offStateDrawW * flow };
  const harvestScale = draw.scale * flow;
  const battery = startBatteryWalk(draw.startRatio, plan.startsAs);
  let atH = 0;
  let noteAtH = nowH;
  let noted = 0;
  let isSettled = false;

  for (let step = 0; step < steps; step++) {
    if (atH === noteAtH && noted < count) {
      charge[path * count + noted++] = battery.chargeRatio;
      noteAtH += everyH;
    }
    if (isSettled && (noted === count || (startsDark && atH <= nowH))) return;

    const today = day[step]!;
    const hours = lengthH[step]!;
    const wasDark = battery.dark;
    battery.hours = hours;
    battery.harvestW = referenceW[step]! * ratio[today]! * harvestScale;
    battery.loadW = loadW[step]! * loadFactor[today]! * flow;
    battery.batteryC = temperatureC[poolDay[today]! * 24 + slot[step]!]!;
    advanceBattery(pack, battery);
    if (battery.dark !== wasDark) {
      if (battery.dark) {
        emptyHours[path] = Math.min(emptyHours[path]!, atH + battery.upHours);
      } else {
        returnHours[path] = Math.min(returnHours[path]!, atH + hours - battery.upHours);
      }
      isSettled ||= battery.dark !== startsDark;
    }
    atH += hours;
  }
  if (atH === noteAtH && noted < count) charge[path * count + noted] = battery.chargeRatio;
}
