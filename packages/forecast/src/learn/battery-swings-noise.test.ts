import { HOUR_MS } from '@duskline/domain';
import { batteryPackOf } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../seeded-random.ts';
import { madeUpHistory, moorPower } from '../testing.ts';
import { batterySwings } from './battery-swings.ts';
import { followHealth } from './follow-health.ts';

describe('a gauge that errs by five points from hour to hour', () => {
  it('does not make the battery small', () => {
    // 80 Wh held of 100 on the plate, worn down by 1 W for 50 h and charged again, for sixty days; losses of the cells by facts.
    const startMs = Date.UTC(2026, 5, 1);
    const random = seededRandom(2);
    const pack = batteryPackOf(moorPower);
    const hours = 60 * 24;
    let storedWh = 70;
    let isFalling = true;
    const netW: number[] = [];
    const ratio: number[] = [];
    for (let hour = 0; hour < hours; hour++) {
      if (storedWh < 20) isFalling = false;
      if (storedWh > 70) isFalling = true;
      const terminalW = isFalling ? -1 : 4;
      netW.push(terminalW);
      const before = storedWh;
      storedWh +=
        terminalW > 0 ? terminalW * pack.chargeEfficiency : terminalW / pack.dischargeEfficiency;
      ratio.push((before + storedWh) / 2 / 80 + 0.05 * random.normal());
    }
    const history = madeUpHistory(startMs, hours, {
      panelW: (hour) => (netW[hour]! + 1) / pack.chargerEfficiency,
      loadW: () => 1,
      chargeRatio: (hour) => Math.min(1, Math.max(0, ratio[hour]!)),
      batteryC: () => 25,
    });
    const untilMs = startMs + hours * HOUR_MS;
    const swings = batterySwings({
      history,
      power: moorPower,
      pack,
      sinceMs: startMs,
      untilMs,
    });
    const { filter } = followHealth({ ratio: 1, variance: 0.01, atMs: startMs }, swings, untilMs);
    expect(swings.length).toBeGreaterThan(5);
    expect(filter.ratio).toBeGreaterThan(0.74);
    expect(filter.ratio).toBeLessThan(0.9);
  });
});
