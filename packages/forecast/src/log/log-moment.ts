import {
  type ChargeEstimate,
  HOUR_MS,
  type LatestReading,
  type PowerSystem,
} from '@duskline/domain';
import { chargerOf } from '@duskline/energy';
import { estimateCharge } from '../estimate-charge.ts';
import type { LogColumn, NodeLog } from './node-log.ts';

/** What a log tells of the node at one time, from rows before it alone. */
export interface LogMoment {
  readonly charge: ChargeEstimate | undefined;
  readonly dark?: { readonly sinceMs: number; readonly chargeRatio: number };
}

/** Readings of the last hour before the last row are averaged: one reading is as wrong as its gauge. */
const LOOK_BACK_MS = HOUR_MS;
/** Silent for longer than this, and for several usual gaps, with the charge about the shut-down level: it has stopped. */
const LEAST_SILENCE_MS = 3 * HOUR_MS;
const GAPS = 6;
/** A gauge is good to five points; below this above the level a silence is taken for a stop. */
const NEAR_RATIO = 0.08;
/** A node that draws less than this share of its usual load is off. */
const OFF_SHARE = 0.3;

/**
 * Charge at a time, and whether the node is dark then: it fell silent about the shut-down level, or its rows go on at or below it
 * without a load.
 *
 * @param atMs  rows from here on are not looked at
 */
export function logMoment(log: NodeLog, power: PowerSystem, atMs: number): LogMoment {
  const end = firstRowFrom(log.timesMs, atMs);
  if (end === 0) return { charge: undefined };
  const lastMs = log.timesMs[end - 1]!;
  const charge = chargeBefore(log, power, end);
  if (charge === undefined) return { charge };
  const silentMs = atMs - lastMs;
  const isSilent = silentMs > Math.max(LEAST_SILENCE_MS, GAPS * usualGapMs(log, end));
  const { shutDownRatio } = power;
  if (isSilent && charge.ratio <= shutDownRatio + NEAR_RATIO)
    return {
      charge,
      dark: { sinceMs: lastMs, chargeRatio: Math.min(charge.ratio, shutDownRatio) },
    };
  const sinceMs = offSince(log, power, end);
  if (sinceMs !== undefined && charge.ratio < power.restartRatio)
    return { charge, dark: { sinceMs: lastMs, chargeRatio: charge.ratio } };
  return { charge };
}

/** Number of rows before an instant. */
export function firstRowFrom(timesMs: Float64Array, atMs: number): number {
  let low = 0;
  let high = timesMs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesMs[middle]! < atMs) low = middle + 1;
    else high = middle;
  }
  return low;
}

function chargeBefore(log: NodeLog, power: PowerSystem, end: number): ChargeEstimate | undefined {
  const latest: LatestReading[] = [];
  const add = (metric: LatestReading['metric'], column: LogColumn, minimum = -Infinity): void => {
    const mean = lastMean(log, column, end);
    if (mean !== undefined && mean.value >= minimum)
      latest.push({ metric, observedAtMs: mean.atMs, value: mean.value });
  };
  add('charge', 'charge_pct');
  add('batt_v', 'battery_v', 0);
  add('batt_i', 'battery_a');
  const current = latest.some(({ metric }) => metric === 'batt_i')
    ? undefined
    : flowA(log, power, end);
  if (current !== undefined) latest.push(current);
  return estimateCharge({ latest, power, nowMs: log.timesMs[end - 1]! });
}

/** Without a current sensor: what the panel gives less what the node draws, over the voltage. */
function flowA(log: NodeLog, power: PowerSystem, end: number): LatestReading | undefined {
  const panel = lastMean(log, 'panel_w', end);
  const load = lastMean(log, 'load_w', end);
  const volt = lastMean(log, 'battery_v', end);
  if (panel === undefined || load === undefined || volt === undefined || volt.value <= 0)
    return undefined;
  const netW = panel.value * chargerOf(power.charger).efficiency - load.value;
  return { metric: 'batt_i', observedAtMs: volt.atMs, value: netW / volt.value };
}

/** Mean of a column over the hour that ends with its newest value, and the time of that value. */
function lastMean(
  { timesMs, columns }: NodeLog,
  column: LogColumn,
  end: number,
): { readonly value: number; readonly atMs: number } | undefined {
  const values = columns.get(column);
  if (values === undefined) return undefined;
  let row = end - 1;
  while (row >= 0 && Number.isNaN(values[row])) row--;
  if (row < 0) return undefined;
  const atMs = timesMs[row]!;
  let sum = 0;
  let count = 0;
  for (; row >= 0 && timesMs[row]! > atMs - LOOK_BACK_MS; row--)
    if (!Number.isNaN(values[row])) {
      sum += values[row]!;
      count++;
    }
  return { value: sum / count, atMs };
}

/** Median gap of the last rows. */
function usualGapMs({ timesMs }: NodeLog, end: number): number {
  const gaps: number[] = [];
  for (let row = Math.max(1, end - 50); row < end; row++)
    gaps.push(timesMs[row]! - timesMs[row - 1]!);
  gaps.sort((a, b) => a - b);
  return gaps[gaps.length >> 1] ?? HOUR_MS;
}

/**
 * Since when rows go on while the node is off: from the hour its charge was at the shut-down level or below, with hardly any
 * load in every hour since, and the restart level not yet reached. Without a load column two hours at the level are asked for.
 */
function offSince(
  { hourly, timesMs }: NodeLog,
  power: PowerSystem,
  end: number,
): number | undefined {
  const last = Math.floor((timesMs[end - 1]! - hourly.startMs) / HOUR_MS) - 1;
  const usualW = usualLoadW(hourly.loadW, last);
  let low = 0;
  let lowAt: number | undefined;
  for (let hour = last; hour >= 0 && last - hour < 24 * 120; hour--) {
    const ratio = hourly.chargeRatio[hour] ?? null;
    if (ratio === null) return undefined;
    const loadW = hourly.loadW[hour] ?? null;
    if (loadW !== null && usualW !== undefined && loadW > OFF_SHARE * usualW) break;
    if (ratio >= power.restartRatio) break;
    if (ratio <= power.shutDownRatio) {
      low++;
      lowAt = hour;
    } else if (loadW === null && lowAt === undefined && ratio > power.shutDownRatio + NEAR_RATIO)
      // Nothing tells a node that is charging in the dark from one that is up.
      return undefined;
  }
  const isTold = usualW !== undefined ? low >= 1 : low >= 2;
  return isTold && lowAt !== undefined ? hourly.startMs + lowAt * HOUR_MS : undefined;
}

function usualLoadW(loadW: readonly (number | null)[], last: number): number | undefined {
  const heard = loadW
    .slice(Math.max(0, last - 24 * 14), last + 1)
    .filter((value): value is number => value !== null && value > 0)
    .sort((a, b) => a - b);
  return heard.length === 0 ? undefined : heard[Math.floor(0.75 * (heard.length - 1))];
}
