import { HOUR_MS } from '@duskline/domain';
import { batteryPackOf } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { madeUpHistory, moorPower } from '../testing.ts';
import { batterySwings } from './battery-swings.ts';

describe('a node that runs down until it stops', () => {
  /** 80 Wh held of 100 on the plate, drawn down from 95 % by 1 W; silent from the shut-down level on. */
  const HELD_WH = 80;
  const startMs = Date.UTC(2026, 5, 1);
  const pack = batteryPackOf(moorPower);
  const chargeAt = (hour: number): number =>
    0.95 - (hour + 0.5) / pack.dischargeEfficiency / HELD_WH;
  const isUp = (hour: number): boolean => chargeAt(hour) > pack.shutDownRatio;
  const swingsOf = (hours: number) =>
    batterySwings({
      history: madeUpHistory(startMs, hours, {
        panelW: (hour) => (isUp(hour) ? 0 : null),
        loadW: (hour) => (isUp(hour) ? 1 : null),
        chargeRatio: (hour) => (isUp(hour) ? chargeAt(hour) : null),
        batteryC: () => 25,
      }),
      power: moorPower,
      pack,
      sinceMs: startMs,
      untilMs: startMs + hours * HOUR_MS,
    });
  const stop = Array.from({ length: 200 }, (_, hour) => hour).find((hour) => !isUp(hour))!;

  it('has shown what its battery holds, at once and once only', () => {
    const [swing, ...others] = swingsOf(stop);
    expect(swing?.healthRatio).toBeCloseTo(HELD_WH / moorPower.battery.ratedWh, 2);
    expect(others).toEqual([]);
    expect(swingsOf(stop + 72)).toEqual([swing]);
  });

  it('has not while it may fall further', () => {
    expect(swingsOf(Math.floor(stop / 2))).toEqual([]);
  });
});
