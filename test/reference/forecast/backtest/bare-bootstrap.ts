import { HOUR_MS } from '@duskline/domain';
import { extraterrestrialNormalWm2, planeOfArray, sunPosition } from '@duskline/energy';
import { seededRandom } from '@duskline/forecast';
import type { TruthNode } from '../truth-node.ts';
import { HORIZON } from './graded.ts';

export interface BareFacts {
  readonly node: TruthNode;
  readonly position: { readonly latitudeDeg: number; readonly longitudeDeg: number };
  readonly startMs: number;
  /** How many futures are drawn. */
  readonly paths: number;
  readonly seed: number;
}

/** One day of the past as the bootstrap sees it, and what the sky of that day could have given at most. */
interface PastDay {
  /** Panel energy over what falls on its plane outside the air. */
  readonly yieldRatio: number;
  /** That day's load over the mean of all. */
  readonly loadRatio: number;
}

/** As the experiment it is compared with: last sixty days, blocks of four, begun near yesterday. */
const POOL_DAYS = 60;
const BLOCK_DAYS = 4;
const NEAREST = 15;
const LEAST_POOL = 8;
const CHARGE_EFFICIENCY = 0.95;

/**
 * What a careful person would write in an afternoon, and falls into the trap: days of the last two months drawn in blocks,
 * and the hours in which a full battery held the panel back taken for dull ones. No prior, nothing learnt. Sun and plane
 * are exact, so that the trap alone sets it apart.
 *
 * @returns days to empty ascending, infinite beyond the horizon; undefined with fewer than eight whole days
 */
export function bareBootstrapDays(facts: BareFacts, hour: number): Float64Array | undefined {
  const { node } = facts;
  const loadByHour = meanLoad(node, hour);
  const pool = pastDays(facts, hour, loadByHour);
  if (pool.length < LEAST_POOL) return undefined;
  const yesterday = pool[pool.length - 1]!.yieldRatio;
  const starts = pool
    .map(({ yieldRatio }, day) => ({ day, far: Math.abs(yieldRatio - yesterday) }))
    .sort((a, b) => a.far - b.far)
    .slice(0, NEAREST)
    .map(({ day }) => day);
  const above = Array.from({ length: HORIZON * 24 }, (_, i) => aboveTheAirWm2(facts, hour + i));
  const random = seededRandom(facts.seed * 7919 + hour);
  const pick = (count: number): number => random.below(count);
  const days = Float64Array.from({ length: facts.paths }, () => {
    let wh = node.chargeRatio[hour]! * node.capacityWh;
    let drawn = starts[pick(starts.length)]!;
    for (let day = 0; day < HORIZON; day++) {
      if (day > 0) drawn = day % BLOCK_DAYS === 0 ? pick(pool.length) : (drawn + 1) % pool.length;
      const { yieldRatio, loadRatio } = pool[drawn]!;
      for (let i = 0; i < 24; i++) {
        const netWh = yieldRatio * above[day * 24 + i]! - loadRatio * loadByHour[i]!;
        wh = Math.min(node.capacityWh, wh + (netWh > 0 ? netWh * CHARGE_EFFICIENCY : netWh));
        if (wh <= node.power.shutDownRatio * node.capacityWh) return day + (i + 1) / 24;
      }
    }
    return Number.POSITIVE_INFINITY;
  });
  return days.sort();
}

/** Mean load by hour after local midnight, W, of the days before. */
function meanLoad({ history }: TruthNode, hour: number): Float64Array {
  const sums = new Float64Array(24);
  const counts = new Float64Array(24);
  for (let at = Math.max(0, hour - POOL_DAYS * 24); at < hour; at++) {
    const loadW = history.loadW[at] ?? null;
    if (loadW === null) continue;
    const i = (((at - hour) % 24) + 24) % 24;
    sums[i] = sums[i]! + loadW;
    counts[i] = counts[i]! + 1;
  }
  return sums.map((sum, i) => sum / Math.max(1, counts[i]!));
}

/** Whole days only: one in which the node was dark tells nothing of its harvest. */
function pastDays(facts: BareFacts, hour: number, loadByHour: Float64Array): PastDay[] {
  const { history } = facts.node;
  const usualWh = loadByHour.reduce((sum, each) => sum + each, 0);
  const days: PastDay[] = [];
  for (let from = hour - POOL_DAYS * 24; from < hour; from += 24) {
    if (from < 0) continue;
    const panelW = history.panelW.slice(from, from + 24);
    const loadW = history.loadW.slice(from, from + 24);
    if (panelW.includes(null) || loadW.includes(null)) continue;
    let above = 0;
    for (let i = 0; i < 24; i++) above += aboveTheAirWm2(facts, from + i);
    const total = (values: readonly (number | null)[]) =>
      values.reduce((sum: number, each) => sum + (each ?? 0), 0);
    days.push({
      yieldRatio: above > 0 ? total(panelW) / above : 0,
      loadRatio: total(loadW) / usualWh,
    });
  }
  return days;
}

/** Irradiance on the panel's plane if there were no air, W/m². */
function aboveTheAirWm2({ position, startMs, node }: BareFacts, hour: number): number {
  const atMs = startMs + (hour + 0.5) * HOUR_MS;
  const sun = sunPosition(atMs, position.latitudeDeg, position.longitudeDeg);
  if (sun.zenithDeg >= 90) return 0;
  const extraterrestrialWm2 = extraterrestrialNormalWm2(atMs);
  const ghiWm2 = extraterrestrialWm2 * Math.cos((sun.zenithDeg * Math.PI) / 180);
  const { panel } = node.power;
  return planeOfArray({
    sun,
    surface: { tiltDeg: panel.tiltDeg, azimuthDeg: panel.azimuthDeg },
    ghiWm2,
    dniWm2: extraterrestrialWm2,
    dhiWm2: 0,
    extraterrestrialWm2,
    albedo: 0,
  }).totalWm2;
}
