import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { live } from '../testing-life.ts';
import { moor, moorPower } from '../testing.ts';
import { logMoment } from './log-moment.ts';
import type { LogSite } from './log-site.ts';
import { parseNodeLog } from './node-log.ts';
import { outlookOfLog } from './outlook-of-log.ts';

/** Sixty lived days as a file; after `silentFrom` no row. */
function logOf(history: ReturnType<typeof live>, silentFromHour = Number.POSITIVE_INFINITY) {
  const rows = history.chargeRatio.flatMap((ratio, hour) => {
    if (ratio === null || hour >= silentFromHour) return [];
    const at = new Date(history.startMs + (hour + 0.5) * HOUR_MS).toISOString();
    return [`${at},${(100 * ratio).toFixed(1)},${history.panelW[hour]},${history.loadW[hour]}`];
  });
  const result = parseNodeLog(['time_utc,charge_pct,panel_w,load_w', ...rows].join('\n'));
  if (!result.ok) throw new Error(result.fault.problem);
  return result.value;
}
const site: LogSite = { position: moor, power: moorPower, cellsKnown: true };
const endMs = Date.UTC(2026, 9, 20);

describe('the outlook of a plain log', () => {
  // A dull month on twice the load that a dull panel carries: 100 Wh, 2 W.
  const waning = live({ endMs, weather: (day) => (day < 52 ? 1 : 0.03), loadW: () => 1.1 });

  it('is made as of a time, and knows no row from then on', () => {
    const atMs = endMs - 7 * DAY_MS;
    const whole = outlookOfLog(site, logOf(waning))(atMs);
    const cut = outlookOfLog(site, logOf(waning, 53 * 24))(atMs);
    expect(cut.outlook).toEqual(whole.outlook);
    expect(whole.daysToEmpty?.length).toBe(500);
    expect(cut.daysToEmpty).toEqual(whole.daysToEmpty);
  });

  it('comes nearer as the battery wanes', () => {
    const outlookAt = outlookOfLog(site, logOf(waning));
    const [before, after] = [endMs - 8 * DAY_MS, endMs - 5 * DAY_MS].map((atMs) => {
      const { daysToEmpty } = outlookAt(atMs);
      return daysToEmpty![Math.floor(daysToEmpty!.length / 10)]!;
    });
    expect(after!).toBeLessThan(before!);
  });

  it('refuses to go back in time, for what was learnt later would be used', () => {
    const outlookAt = outlookOfLog(site, logOf(waning));
    outlookAt(endMs - 5 * DAY_MS);
    expect(() => outlookAt(endMs - 6 * DAY_MS)).toThrow(RangeError);
  });
});

describe('a node of a plain log', () => {
  const steady = live({ endMs, weather: () => 0.6, loadW: () => 1 });
  const text = (rows: readonly string[]) => {
    const result = parseNodeLog(['time_utc,charge_pct,load_w', ...rows].join('\n'));
    if (!result.ok) throw new Error(result.fault.problem);
    return result.value;
  };
  const hourly = (charges: readonly number[], loads: readonly number[]) =>
    text(
      charges.map((charge, hour) => {
        const at = new Date(Date.UTC(2026, 0, 5) + hour * HOUR_MS).toISOString();
        return `${at},${charge},${loads[hour]}`;
      }),
    );
  const at = (hour: number): number => Date.UTC(2026, 0, 5) + hour * HOUR_MS;

  it('is up while its rows go on, whatever it did long ago', () => {
    const moment = logMoment(logOf(steady), moorPower, endMs);
    expect(moment.dark).toBeUndefined();
    expect(moment.charge!.ratio).toBeGreaterThan(0.1);
  });

  it('is dark when its rows ended about the shut-down level of 10 %, and since its last row', () => {
    const log = hourly([30, 25, 20, 15, 11], [1, 1, 1, 1, 1]);
    expect(logMoment(log, moorPower, at(30)).dark).toEqual({ sinceMs: at(4), chargeRatio: 0.1 });
  });

  it('is not dark when its rows ended far above it: that silence has another cause', () => {
    const log = hourly([60, 59, 58, 57, 56], [1, 1, 1, 1, 1]);
    expect(logMoment(log, moorPower, at(30)).dark).toBeUndefined();
  });

  it('is dark when its rows go on without a load after the level, until the restart level of 90 %', () => {
    const charges = [30, 20, 12, 9, 15, 30, 45];
    const loads = [1, 1, 1, 0.02, 0.02, 0.02, 0.02];
    expect(logMoment(hourly(charges, loads), moorPower, at(7)).dark).toMatchObject({
      chargeRatio: 0.45,
    });
    const back = hourly([...charges, 92], [...loads, 0.02]);
    expect(logMoment(back, moorPower, at(8)).dark).toBeUndefined();
  });

  it('has no charge before its first row', () => {
    expect(logMoment(logOf(steady), moorPower, steady.startMs)).toEqual({ charge: undefined });
  });
});
