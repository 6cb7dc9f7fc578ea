import { DAY_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { advanceBattery, startBatteryWalk } from '../advance-battery.ts';
import { batteryPackOf } from '../battery-pack.ts';
import { EnergyInputError } from '../errors.ts';
import { referenceHourlyWh } from '../reference-hourly.ts';
import { sunTimes } from '../sun-times.ts';
import { walkDays } from './walk-days.ts';

const power = {
  panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
  battery: { chemistry: 'li-ion-nmc', ratedWh: 100, seriesCells: 3 },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.9,
  offStateDrawW: 0,
  usualGapS: 60,
} as const;
const pack = batteryPackOf(power);
const even = (days: number, harvestWh: number, lightH = 12) => ({
  harvestWhPerRatedW: new Float64Array(days).fill(harvestWh),
  daylightH: new Float64Array(days).fill(lightH),
  batteryC: new Float64Array(days).fill(25),
});
const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);

describe('walking a design through days', () => {
  it('without sun goes dark when the arithmetic says, and stays so', () => {
    // 90 Wh · 0.97 out at 1 W: 87.3 h, less 0.07 % a day of self-discharge. The walk begins at sunrise and ends at midnight: 234 h.
    const { darkH } = walkDays(pack, { panelW: 0, loadW: 1 }, even(10, 0));
    expect(sum(darkH)).toBeCloseTo(10 * 24 - 6 - 87.3, 0);
    expect(darkH[9]).toBeCloseTo(18, 9);
  });

  it('stays up where the sun brings more than is drawn, and spills the rest', () => {
    const { darkH, spilledWh } = walkDays(pack, { panelW: 20, loadW: 1 }, even(30, 4));
    expect(sum(darkH)).toBeCloseTo(0, 9);
    // 80 Wh a day come, 24 Wh go: the rest finds a full battery. By hand: at most 12 Wh of night at 0.97 each way are put back.
    expect(spilledWh / 30).toBeGreaterThan(80 - 12 / 0.95 - 12 / (0.95 * 0.97 * 0.97) - 2);
    expect(spilledWh / 30).toBeLessThan(80 - 24 / 0.95 + 2);
  });

  // Up share = (harvest − off-state draw) / (load − off-state draw), arithmetic of the trade (no source): 12 in, 2.4 off, 24 load
  // give 44 %. The way through the battery costs the night's part twice 3 %, and the charger 5 %.
  it('is up for the share of time the balance allows', () => {
    const off = batteryPackOf({ ...power, offStateDrawW: 0.1 });
    const days = 2000;
    const { darkH } = walkDays(off, { panelW: 1, loadW: 1 }, even(days, 12 / 0.95));
    const upShare = 1 - sum(darkH) / (24 * days);
    expect(upShare).toBeGreaterThan(0.44 - 0.03);
    expect(upShare).toBeLessThan(0.44);
  });

  it('agrees with hourly steps under a true sun', () => {
    const position = { latitudeDeg: 54.5, longitudeDeg: 0, elevationM: 100 };
    const startMs = Date.UTC(2025, 10, 1);
    const days = 90;
    const panel = { ...power.panel, ratedW: 1 };
    // Days of unlike sun, the same for both: 10 to 60 % of a cloudless day.
    const share = (day: number): number => 0.1 + 0.5 * Math.abs(Math.sin(day * 1.7));
    const hourly = referenceHourlyWh({ position, panel, startMs, hours: days * 24 });
    const weather = even(days, 0);
    for (let day = 0; day < days; day += 1) {
      const sun = sunTimes(startMs + day * DAY_MS, position.latitudeDeg, position.longitudeDeg);
      if (sun.kind !== 'normal') throw new Error('no such day at 54.5° N');
      weather.daylightH[day] = (sun.setMs - sun.riseMs) / 3_600_000;
      weather.harvestWhPerRatedW[day] = share(day) * sum(hourly.subarray(day * 24, (day + 1) * 24));
    }
    const design = { panelW: 20, loadW: 1 };
    const walk = startBatteryWalk(1);
    let darkHourly = 0;
    for (const [hour, wh] of hourly.entries()) {
      walk.harvestW = design.panelW * wh * share(Math.floor(hour / 24));
      walk.loadW = design.loadW;
      advanceBattery(pack, walk);
      darkHourly += 1 - walk.upHours;
    }
    const darkDaily = sum(walkDays(pack, design, weather).darkH);
    expect(darkHourly).toBeGreaterThan(100);
    expect(Math.abs(darkDaily - darkHourly) / 24).toBeLessThan(0.5);
  });

  it('never darkens by a larger panel', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 5, noNaN: true }), { minLength: 60, maxLength: 60 }),
        fc.double({ min: 0.5, max: 20, noNaN: true }),
        fc.double({ min: 1, max: 3, noNaN: true }),
        (harvest, panelW, more) => {
          const weather = { ...even(60, 0), harvestWhPerRatedW: Float64Array.from(harvest) };
          // With the restart level at the shut-down level there is no waiting to be unlucky with.
          const plain = batteryPackOf({ ...power, restartRatio: 0.1001 });
          const dark = (watts: number): number =>
            sum(walkDays(plain, { panelW: watts, loadW: 1 }, weather).darkH);
          expect(dark(panelW * more)).toBeLessThanOrEqual(dark(panelW) + 0.5);
        },
      ),
      { seed: 20261126, numRuns: 200 },
    );
  });

  it('refuses days that do not belong together', () => {
    const weather = { ...even(3, 1), daylightH: new Float64Array(2) };
    expect(() => walkDays(pack, { panelW: 1, loadW: 1 }, weather)).toThrow(EnergyInputError);
    expect(() => walkDays(pack, { panelW: -1, loadW: 1 }, even(3, 1))).toThrow(/panelW/);
  });
});
