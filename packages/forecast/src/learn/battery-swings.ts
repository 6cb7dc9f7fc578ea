import { HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import { type BatteryPack, capacityWhAt, chargeFromVoltage } from '@duskline/energy';
import { ASSUMED_BATTERY_C } from './battery-hours.ts';
import { BAND_SIGMAS } from './fresh-learnt.ts';

/** One large rise or fall of charge with all its energy seen: it weighs the battery. */
export interface Swing {
  readonly startMs: number;
  /** When it was seen to be over: by this it is told whether an earlier look has counted it. */
  readonly endMs: number;
  /** Present capacity over nameplate, as this swing tells it, with its standard deviation. */
  readonly healthRatio: number;
  readonly sigma: number;
}

/** Smaller swings weigh more gauge than battery: project research note §7.3. */
const LEAST_SWING = 0.3;
/** A swing is over when the charge has turned back by this. */
const TURN = 0.1;
/**
 * A fall is over this near the shut-down level too: the node stops there, and what comes after is a gap. The largest falls end so,
 * and just then the capacity is wanted, for the way back.
 */
const NEAR_RATIO = 0.05;
/** Readings in a mean that is free of single errors. */
const CALM_READINGS = 6;
/**
 * The part of the error of a gauge (σ 0.05: `estimateCharge`) that stays for a whole swing, half of its variance; what changes from
 * reading to reading is measured, by how far they lie off the line. Assumption, no source.
 */
const GAUGE_SIGMA = 0.035;
/** A rest voltage is preferred to a gauge when its band is no wider. */
const NARROW_BAND = 0.12;
/** Error of the energy counted, of all that went in and out: sensors of a few percent, common practice, no source. */
const COUNT_SIGMA = 0.03;

interface Point {
  readonly atMs: number;
  readonly ratio: number;
  readonly sigma: number;
  /** Mean of the newest readings up to here: turning points are sought in it, so that a noisy gauge does not make its own. */
  readonly calm: number;
  /** Net energy of the cells since the last gap, at 25 °C capacity, and all that flowed, Wh. */
  readonly netWh: number;
  readonly flowWh: number;
}

/**
 * Swings of charge of at least 30 % between two turning points or down to the shut-down level, with no hour of current missing:
 * nights, dark spells' ends, bad weeks. Unfinished ones wait for the next look.
 *
 * @param inputs.sinceMs  hours before are left out: another battery
 * @param inputs.pack     at its nameplate (health 1)
 * @returns in the order they ended
 * @source ours: definition of capacity, q = ΔE ÷ (C₀ · Δcharge)
 */
export function batterySwings(inputs: {
  readonly history: HourlyHistory;
  readonly power: PowerSystem;
  readonly pack: BatteryPack;
  readonly sinceMs: number;
  readonly untilMs: number;
}): readonly Swing[] {
  const { history, sinceMs, untilMs } = inputs;
  const swings: Swing[] = [];
  let high: Point | undefined;
  let low: Point | undefined;
  let netWh = 0;
  let flowWh = 0;
  let points: Point[] = [];

  for (let i = 0; i < history.chargeRatio.length; i++) {
    const atMs = history.startMs + (i + 0.5) * HOUR_MS;
    if (atMs < sinceMs || atMs + HOUR_MS / 2 > untilMs) continue;
    const energyWh = cellEnergyWh(inputs, i);
    if (energyWh === undefined) {
      high = low = undefined;
      points = [];
      netWh = flowWh = 0;
      continue;
    }
    netWh += energyWh / 2;
    flowWh += Math.abs(energyWh) / 2;
    const known = chargeAt(inputs, i);
    if (known !== undefined) {
      const point = { atMs, ...known, calm: calmRatio(points, known.ratio), netWh, flowWh };
      points.push(point);
      high = high === undefined || point.calm >= high.calm ? point : high;
      low = low === undefined || point.calm <= low.calm ? point : low;
      const isRise = high.atMs > low.atMs;
      const hasTurned = (isRise ? high.calm - point.calm : point.calm - low.calm) >= TURN;
      const isDown = !isRise && point.calm <= inputs.pack.shutDownRatio + NEAR_RATIO;
      const isOver = high.calm - low.calm >= LEAST_SWING && (hasTurned || isDown);
      if (isOver) {
        const [first, last] = inOrder(high, low);
        const between = points.filter((one) => one.atMs >= first.atMs && one.atMs <= last.atMs);
        const swing = swingOf(between, inputs.pack.capacityWh, atMs);
        if (swing !== undefined) swings.push(swing);
        if (isRise) low = point;
        else high = point;
      }
    }
    netWh += energyWh / 2;
    flowWh += Math.abs(energyWh) / 2;
  }
  return swings;
}

function calmRatio(before: readonly Point[], ratio: number): number {
  const newest = before.slice(1 - CALM_READINGS);
  return newest.reduce((sum, point) => sum + point.ratio, ratio) / (newest.length + 1);
}

const inOrder = (a: Point, b: Point): [Point, Point] => (a.atMs < b.atMs ? [a, b] : [b, a]);

/**
 * The line of charge over energy, through all points of the swing: its ends alone are the extremes of an erring gauge, and would
 * make every battery small.
 *
 * @returns undefined when charge did not follow the energy at all
 */
function swingOf(points: readonly Point[], ratedWh: number, overAtMs: number): Swing | undefined {
  const first = points[0]!;
  const last = points[points.length - 1]!;
  const meanOf = (value: (point: Point) => number): number =>
    points.reduce((sum, point) => sum + value(point), 0) / points.length;
  const meanWh = meanOf(({ netWh }) => netWh);
  const meanRatio = meanOf(({ ratio }) => ratio);
  const spread = meanOf(({ netWh }) => (netWh - meanWh) ** 2);
  const along = meanOf(({ netWh, ratio }) => (netWh - meanWh) * (ratio - meanRatio));
  const perWh = along / spread;
  if (!(perWh > 0) || !Number.isFinite(perWh)) return undefined;
  const missed = meanOf(({ netWh, ratio }) => (ratio - meanRatio - perWh * (netWh - meanWh)) ** 2);
  const healthRatio = 1 / (perWh * ratedWh);
  // Errors of a gauge that stay for a whole swing, errors of single readings, errors of the energy counted.
  const reach = Math.max(1e-9, perWh * Math.abs(last.netWh - first.netWh));
  const byGauge = Math.hypot(first.sigma, last.sigma) / reach;
  const byReading = Math.sqrt(missed / (spread * Math.max(1, points.length - 2))) / perWh;
  const byCount =
    (COUNT_SIGMA * (last.flowWh - first.flowWh)) /
    Math.max(1e-9, Math.abs(last.netWh - first.netWh));
  return {
    startMs: first.atMs,
    endMs: overAtMs,
    healthRatio,
    sigma: healthRatio * Math.hypot(byGauge, byReading, byCount),
  };
}

/** Energy the cells gained over the hour, as it would stand at 25 °C; undefined when nothing measured it. */
function cellEnergyWh(
  { history, pack }: Parameters<typeof batterySwings>[0],
  hour: number,
): number | undefined {
  const terminalW = terminalPowerW(history, pack, hour);
  if (terminalW === undefined) return undefined;
  const cellsW =
    terminalW > 0 ? terminalW * pack.chargeEfficiency : terminalW / pack.dischargeEfficiency;
  const batteryC = history.batteryC[hour] ?? history.airC[hour] ?? ASSUMED_BATTERY_C;
  return (cellsW * pack.capacityWh) / capacityWhAt(pack, batteryC);
}

function terminalPowerW(
  history: HourlyHistory,
  pack: BatteryPack,
  hour: number,
): number | undefined {
  const currentA = history.batteryA[hour] ?? null;
  const voltageV = history.batteryV[hour] ?? null;
  if (currentA !== null && voltageV !== null) return currentA * voltageV;
  const panelW = history.panelW[hour] ?? null;
  const loadW = history.loadW[hour] ?? null;
  if (panelW === null || loadW === null) return undefined;
  return panelW * pack.chargerEfficiency - loadW;
}

function chargeAt(
  { history, power }: Parameters<typeof batterySwings>[0],
  hour: number,
): { readonly ratio: number; readonly sigma: number } | undefined {
  const voltageV = history.batteryV[hour] ?? null;
  const currentA = history.batteryA[hour] ?? null;
  if (voltageV !== null && currentA !== null) {
    const { chemistry, seriesCells, ratedWh } = power.battery;
    const batteryC = history.batteryC[hour] ?? history.airC[hour] ?? ASSUMED_BATTERY_C;
    const rest = chargeFromVoltage({
      chemistry,
      seriesCells,
      ratedWh,
      voltageV,
      currentA,
      batteryC,
    });
    const halfBand = (rest.highRatio - rest.lowRatio) / 2;
    if (rest.method === 'rest-voltage' && halfBand <= NARROW_BAND)
      return { ratio: rest.ratio, sigma: halfBand / BAND_SIGMAS };
  }
  const gauge = history.chargeRatio[hour] ?? null;
  return gauge === null ? undefined : { ratio: gauge, sigma: GAUGE_SIGMA };
}
