import { HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { diagnosePower } from './diagnose-power.ts';
import { harvestStop } from './harvest-stop.ts';
import type { PowerHours } from './power-hours.ts';
import { readPowerSigns } from './read-power-signs.ts';
import {
  traceNode as node,
  traceSite as site,
  traceStartMs as startMs,
} from './testing-trace-node.ts';

/** Ten invented days in spring; nights from 19:00 to 05:00, panel 20 W, other sites with 60 % of a cloudless day. */
const DAYS = 10;
const HOURS = DAYS * 24;
interface Hour {
  readonly i: number;
  panelW: number;
  panelV: number;
  airC: number;
  rainMm: number;
}

function trace(fault: (hour: Hour) => void): PowerHours {
  const all = <T>(value: T): T[] => new Array<T>(HOURS).fill(value);
  const expectedW = Array.from({ length: HOURS }, (_, i) => {
    const hour = i % 24;
    return hour < 5 || hour >= 19 ? 0 : 16 * Math.sin((Math.PI * (hour + 0.5 - 5)) / 14);
  });
  const hours = expectedW.map((watt, i): Hour => {
    const hour = { i, panelW: 0.6 * watt, panelV: watt > 0 ? 17 : 0.1, airC: 8, rainMm: 0 };
    fault(hour);
    return hour;
  });
  return {
    startMs,
    panelW: hours.map(({ panelW }) => panelW),
    panelV: hours.map(({ panelV }) => panelV),
    airC: hours.map(({ airC }) => airC),
    rainMm: hours.map(({ rainMm }) => rainMm),
    loadW: all(1.5),
    chargeRatio: all(0.5),
    batteryC: all(9),
    boxRhPercent: all(60),
    expectedW,
    sunAzimuthDeg: hours.map(({ i }) => ((i % 24) + 0.5) * 15),
    chargeLimitsC: [0, 45],
    longitudeDeg: 0,
    peerYield: new Map(
      Array.from({ length: DAYS }, (_, day) => [Math.floor(startMs / 86_400_000) + day, 0.6]),
    ),
  };
}
function stopOf(hours: PowerHours, nowMs = startMs + HOURS * HOUR_MS) {
  const seen = readPowerSigns(hours, { nowMs, site, node });
  return harvestStop(seen, diagnosePower(seen));
}
/** Two and a half days before the end, at noon. */
const FAILS = HOURS - 60;

describe('whether the way of the harvest has failed', () => {
  it('is known of a plug that has come off, from its first hour on', () => {
    const stop = stopOf(
      trace((h) => {
        if (h.i < FAILS) return;
        h.panelW = 0;
        h.panelV = 0.1;
      }),
    );
    expect(stop).toMatchObject({ cause: 'panel connector failed' });
    expect(stop?.sinceMs).toBe(startMs + FAILS * HOUR_MS);
    expect(stop?.probability).toBeGreaterThanOrEqual(0.9);
  });

  it('is known of a charger that takes nothing from a panel with its voltage', () => {
    const stop = stopOf(
      trace((h) => {
        if (h.i >= FAILS) h.panelW = 0;
      }),
    );
    expect(stop).toMatchObject({ cause: 'charger failed' });
  });

  it.each([
    ['weather', () => undefined],
    [
      'a plug that comes and goes',
      (h: Hour) => {
        if (h.i < FAILS || h.i % 3 !== 0) return;
        h.panelW = 0;
        h.panelV = 0.1;
      },
    ],
    [
      'snow, which melts',
      (h: Hour) => {
        if (h.i < FAILS) return;
        h.airC = -2;
        h.rainMm = h.i === FAILS ? 2 : 0;
        h.panelW *= 0.005;
      },
    ],
  ] as const)('is not said of %s', (_, fault) => {
    expect(stopOf(trace(fault))).toBeUndefined();
  });

  it('is over with the first hour that brings something, though two bad days are remembered', () => {
    const mended = trace((h) => {
      if (h.i >= FAILS && h.i < HOURS - 8) h.panelW = 0;
    });
    // 16:00 to 19:00 of the last day it charged again.
    expect(stopOf(mended)).toBeUndefined();
  });
});
