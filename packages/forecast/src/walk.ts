import {
  advanceBattery,
  type BatteryPack,
  type BatteryWalk,
  capacityWhAt,
  chargeRateLimitPerH,
  startBatteryWalk,
} from '@duskline/energy';

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
  /** How the light of a pool day was spread over its hours, mean 1; laid out as the temperatures. Left out: evenly. */
  readonly dayShape?: Float32Array;
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
  /** Charge ratio at the fan's steps: `[k · paths + path]`. */
  readonly charge: Float32Array;
  /** Energy from the start to the end of the fan, Wh (0 where the path ends before it): offered by the panel, received by the node, … */
  readonly offeredWh: Float64Array;
  readonly servedWh: Float64Array;
  /** … gained and given by the cells, … */
  readonly storedWh: Float64Array;
  readonly drawnWh: Float64Array;
  /** … and left at the panel because nothing could take it. */
  readonly spilledWh: Float64Array;
}

export function newTracks(paths: number, fanCount: number): WalkTracks {
  return {
    emptyHours: new Float64Array(paths).fill(Number.POSITIVE_INFINITY),
    returnHours: new Float64Array(paths).fill(Number.POSITIVE_INFINITY),
    charge: new Float32Array(paths * fanCount),
    offeredWh: new Float64Array(paths),
    servedWh: new Float64Array(paths),
    storedWh: new Float64Array(paths),
    drawnWh: new Float64Array(paths),
    spilledWh: new Float64Array(paths),
  };
}

/** A plan made ready to be walked many times: what depends on temperature alone stands in tables. */
export interface Walker {
  readonly plan: WalkPlan;
  /** By pool day and slot: capacity in Wh, … */
  readonly capacityWh: Float64Array;
  /** … its inverse, … */
  readonly perCapacityWh: Float64Array;
  /** … fastest rise of the charge ratio per hour, … */
  readonly ceilingPerH: Float64Array;
  /** … what is left of the missing charge after an hour of taper, … */
  readonly taperKeeps: Float64Array;
  /** … and the share of charge that leaks away in an hour. */
  readonly leakPerH: Float64Array;
  readonly dayShape: Float32Array;
  /** The small finishing current as a share of the ceiling. */
  readonly finishShare: number;
  /** Scratch of the hours in which the path turns. */
  readonly battery: BatteryWalk;
  readonly pack: { -readonly [Key in keyof BatteryPack]: BatteryPack[Key] };
}

export function newWalker(plan: WalkPlan): Walker {
  const { pack, temperatureC } = plan;
  const capacityWh = new Float64Array(temperatureC.length);
  const perCapacityWh = new Float64Array(temperatureC.length);
  const ceilingPerH = new Float64Array(temperatureC.length);
  const taperKeeps = new Float64Array(temperatureC.length);
  const leakPerH = new Float64Array(temperatureC.length);
  const battery = startBatteryWalk(0, plan.startsAs);
  for (let i = 0; i < temperatureC.length; i++) {
    const ceiling = chargeRateLimitPerH(pack.facts, temperatureC[i]!) * pack.chargeEfficiency;
    capacityWh[i] = capacityWhAt(pack, temperatureC[i]!);
    perCapacityWh[i] = 1 / capacityWh[i]!;
    ceilingPerH[i] = ceiling;
    taperKeeps[i] = Math.exp(-ceiling / pack.taperWidthRatio);
    leakPerH[i] = leakOf(pack, battery, temperatureC[i]!);
  }
  const finishShare = (1 - pack.finishRatio) / pack.taperWidthRatio;
  const dayShape = plan.dayShape ?? new Float32Array(temperatureC.length).fill(1);
  const tables = {
    dayShape,
    capacityWh,
    perCapacityWh,
    ceilingPerH,
    taperKeeps,
    leakPerH,
    finishShare,
  };
  return { plan, ...tables, battery, pack: { ...pack } };
}

/** An hour in which nothing flows shows the leak alone. */
function leakOf(pack: BatteryPack, battery: BatteryWalk, batteryC: number): number {
  battery.chargeRatio = 1;
  battery.dark = false;
  battery.harvestW = 0;
  battery.loadW = 0;
  battery.batteryC = batteryC;
  battery.hours = 1;
  advanceBattery(pack, battery);
  return 1 - battery.chargeRatio;
}

/**
 * Walks one path through the hours: sun of the drawn weather in, load out, dark at the shut-down level, back at the restart
 * level. The loop allocates nothing (test/bench/outlook-rate.ts counts the heap).
 *
 * An hour in which nothing turns (no level, knee or end of taper is reached) is done here in a few operations; any other is
 * handed to `advanceBattery`, whose closed forms these are. walk.test.ts holds the two together.
 *
 * The walk ends early once the path's fate is known and its part of the fan is drawn.
 *
 * @param walker  its plan's arrays at least `steps` long
 * @param draw    arrays at least as long as there are simulated days; ratios and factors ≥ 0
 * @param tracks  written at `path`
 * @param path    0 … number of paths − 1
 * @accuracy agrees with `advanceBattery` to 1e-12 of charge; energy closes to 1e-9 Wh: walk.test.ts
 * @source ours: hourly balance of `advanceBattery`, which is exact within the hour
 */
export function walkPath(walker: Walker, draw: PathDraw, tracks: WalkTracks, path: number): void {
  const {
    plan,
    capacityWh,
    perCapacityWh,
    ceilingPerH,
    taperKeeps,
    leakPerH,
    dayShape,
    finishShare,
    battery,
    pack,
  } = walker;
  const { steps, lengthH, referenceW, loadW, day, slot, nowH } = plan;
  const { everyH, count } = plan.fan;
  const { ratio, poolDay, loadFactor, capacityFactor } = draw;
  const { charge, emptyHours, returnHours } = tracks;
  const paths = emptyHours.length;
  const startsDark = plan.startsAs === 'dark';
  const { shutDownRatio, restartRatio, chargeEfficiency } = pack;
  const perCharge = 1 / chargeEfficiency;
  const perDischarge = 1 / pack.dischargeEfficiency;
  const { chargerEfficiency, taperWidthRatio, finishRatio } = pack;
  // A battery k times as large under the same flows runs as the same battery under flows k times smaller.
  const flow = 1 / capacityFactor;
  const offStateW = plan.pack.offStateDrawW * flow;
  const harvestScale = draw.scale * flow;
  pack.offStateDrawW = offStateW;

  let level = draw.startRatio;
  let dark = startsDark ? level < restartRatio : level <= shutDownRatio;
  if (dark && !startsDark) emptyHours[path] = 0;
  if (!dark && startsDark) returnHours[path] = 0;
  let isSettled = dark !== startsDark;
  let atH = 0;
  let noteAtH = nowH;
  let noted = 0;
  let offeredWh = 0;
  let servedWh = 0;
  let storedWh = 0;
  let drawnWh = 0;
  let spilledWh = 0;

  // What is the same for all hours of a day.
  let today = -1;
  let row = 0;
  let dayHarvest = 0;
  let dayLoad = 0;

  for (let step = 0; ; step++) {
    if (atH === noteAtH && noted < count) {
      charge[noted * paths + path] = level;
      noteAtH += everyH;
      noted++;
      if (noted === count) {
        tracks.offeredWh[path] = offeredWh * capacityFactor;
        tracks.servedWh[path] = servedWh * capacityFactor;
        tracks.storedWh[path] = storedWh * capacityFactor;
        tracks.drawnWh[path] = drawnWh * capacityFactor;
        tracks.spilledWh[path] = Math.max(0, (spilledWh * capacityFactor) / chargerEfficiency);
      }
    }
    if (step === steps || (isSettled && (noted === count || (startsDark && atH <= nowH)))) return;

    if (day[step] !== today) {
      today = day[step]!;
      row = poolDay[today]! * 24;
      dayHarvest = ratio[today]! * harvestScale;
      dayLoad = loadFactor[today]! * flow;
    }
    const hours = lengthH[step]!;
    const at = row + slot[step]!;
    const harvestW = referenceW[step]! * dayHarvest * dayShape[at]!;
    const offeredW = harvestW * chargerEfficiency;
    const wantedW = dark ? offStateW : loadW[step]! * dayLoad;
    const keeps = 1 - leakPerH[at]! * hours;
    offeredWh += harvestW * hours;

    if (wantedW > offeredW) {
      const neededWh = (wantedW - offeredW) * hours * perDischarge;
      const fallen = level - neededWh * perCapacityWh[at]!;
      const kept = fallen * keeps;
      if (fallen > 0 && (dark || kept > shutDownRatio)) {
        drawnWh += neededWh;
        servedWh += wantedW * hours;
        level = kept;
        atH += hours;
        continue;
      }
    } else {
      const ceiling = ceilingPerH[at]!;
      const surplusW = offeredW - wantedW;
      const rate = Math.min(surplusW * chargeEfficiency * perCapacityWh[at]!, ceiling);
      // The taper's knee stands where (1 − level) · ceiling = width · rate; below the finishing current there is none.
      const bend = rate <= ceiling * finishShare ? 0 : taperWidthRatio * rate;
      let risen = level;
      let isEven = true;
      if (rate > 0 && level < 1) {
        if (bend === 0) risen = Math.min(1, level + rate * hours);
        else if ((1 - level) * ceiling > bend) {
          risen = level + rate * hours;
          isEven = (1 - risen) * ceiling > bend;
        } else if (level >= finishRatio) {
          risen = Math.min(1, level + ceiling * finishShare * hours);
        } else {
          risen = 1 - (1 - level) * taperKeeps[at]!;
          isEven = hours === 1 && risen < finishRatio;
        }
      }
      const kept = risen * keeps;
      if (isEven && (dark ? risen < restartRatio : kept > shutDownRatio)) {
        const gainedWh = (risen - level) * capacityWh[at]!;
        storedWh += gainedWh;
        servedWh += wantedW * hours;
        spilledWh += surplusW * hours - gainedWh * perCharge;
        level = kept;
        atH += hours;
        continue;
      }
    }

    battery.chargeRatio = level;
    battery.dark = dark;
    battery.hours = hours;
    battery.harvestW = harvestW;
    battery.loadW = loadW[step]! * dayLoad;
    battery.batteryC = plan.temperatureC[at]!;
    advanceBattery(pack, battery);
    level = battery.chargeRatio;
    servedWh += battery.servedWh;
    storedWh += battery.storedWh;
    drawnWh += battery.drawnWh;
    spilledWh += battery.spilledWh * chargerEfficiency;
    if (battery.dark !== dark) {
      dark = battery.dark;
      const turnedH = dark ? atH + battery.upHours : atH + hours - battery.upHours;
      const turns = dark ? emptyHours : returnHours;
      if (turnedH < turns[path]!) turns[path] = turnedH;
      if (dark !== startsDark) isSettled = true;
    }
    atH += hours;
  }
}
