import { HOUR_MS } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ForecastInputs } from '../forecast-inputs.ts';
import { forecastPaths } from '../forecast-node.ts';
import { exactly, moor, moorPower } from '../testing.ts';
import { live } from '../testing-life.ts';
import type { Change } from './change.ts';
import { whatIf, type WhatIf } from './what-if.ts';
import { whatWouldHelp } from './what-would-help.ts';

const history = live({
  loadW: () => 1.3,
  endMs: Date.UTC(2026, 10, 20),
  weather: (day) => 0.2 + ((day * 37) % 60) / 120,
});
const nowMs = history.startMs + history.panelW.length * HOUR_MS;
const inputs: ForecastInputs = {
  nowMs,
  seed: 5,
  position: moor,
  power: moorPower,
  history,
  charge: exactly(0.6, nowMs),
  paths: 100,
  horizonDays: 30,
};

function gain(change: Change, changes: Partial<ForecastInputs> = {}): WhatIf {
  const found = whatIf({ ...inputs, ...changes }, change);
  if ('kind' in found) throw new Error(found.missing);
  return found;
}
const meanDays = (change: Change): number => gain(change).gainedDays!.mean;

describe('what a change would do', () => {
  it('gains nothing by no change', () => {
    expect(gain({ kind: 'bigger-panel', factor: 1 }).gainedDays).toEqual({
      p10: 0,
      p50: 0,
      p90: 0,
      mean: 0,
    });
  });

  it('is the mean of min(T, horizon) with it, less that without: no other chance comes in', () => {
    const change: Change = { kind: 'bigger-battery', factor: 1.5 };
    // No dark spell in the past: there the capacity would be part of what is learnt of the weather.
    const awake = { ...history, chargeRatio: history.chargeRatio.map((ratio) => ratio && 0.5) };
    const within = (battery: number): number => {
      const power = {
        ...moorPower,
        battery: { ...moorPower.battery, ratedWh: moorPower.battery.ratedWh * battery },
      };
      const days = forecastPaths({ ...inputs, history: awake, power }).daysToEmpty!;
      return days.reduce((sum, day) => sum + Math.min(30, day), 0) / days.length;
    };
    const found = gain(change, { history: awake });
    expect(found.gainedDays!.mean * found.concernedShare).toBeCloseTo(within(1.5) - within(1), 1);
  });

  it('never gains less by more of it', () => {
    const factor = fc.double({ min: 1, max: 3, noNaN: true });
    const share = fc.double({ min: 0, max: 0.9, noNaN: true });
    fc.assert(
      fc.property(factor, factor, share, share, (a, b, c, d) => {
        const [less, more] = [Math.min(a, b), Math.max(a, b)];
        const [saved, savedMore] = [Math.min(c, d), Math.max(c, d)];
        const isRising = (low: Change, high: Change): boolean =>
          meanDays(high) >= meanDays(low) - 1e-9;
        return (
          isRising(
            { kind: 'bigger-panel', factor: less },
            { kind: 'bigger-panel', factor: more },
          ) &&
          isRising(
            { kind: 'bigger-battery', factor: less },
            { kind: 'bigger-battery', factor: more },
          ) &&
          isRising(
            { kind: 'log-less', savedShare: saved },
            { kind: 'log-less', savedShare: savedMore },
          ) &&
          isRising(
            { kind: 'less-at-night', savedShare: saved },
            { kind: 'less-at-night', savedShare: savedMore },
          )
        );
      }),
      { seed: 20_261_126, numRuns: 3 },
    );
  }, 60_000);

  it('brings a dark node back sooner with a larger panel, and says how much', () => {
    const dark = { sinceMs: nowMs - 6 * HOUR_MS, chargeRatio: 0.1 };
    const found = gain({ kind: 'bigger-panel', factor: 2 }, { dark });
    expect(found.gainedDays!.p50).toBeGreaterThan(0);
    expect(found.says).toContain('days sooner');
  });

  it('gains nothing for a node that will not go dark', () => {
    const bright = live({ loadW: () => 0.1, endMs: Date.UTC(2026, 6, 1) });
    const atMs = bright.startMs + bright.panelW.length * HOUR_MS;
    const found = gain(
      { kind: 'log-less', savedShare: 0.5 },
      { history: bright, nowMs: atMs, charge: exactly(0.9, atMs) },
    );
    expect(found.gainedDays).toBeUndefined();
    expect(found.says).toContain('nothing to gain');
  });

  it('refuses a share above one and a factor of zero', () => {
    expect(() => gain({ kind: 'log-less', savedShare: 1.2 })).toThrow(RangeError);
    expect(() => gain({ kind: 'bigger-panel', factor: 0 })).toThrow(RangeError);
  });
});

describe('what would help', () => {
  it('offers the changes that gain something, best first, with cautions where they can hurt', () => {
    const help = whatWouldHelp(inputs);
    if (help.kind !== 'help') throw new Error(help.missing);
    const kinds = help.changes.map(({ change }) => change.kind);
    expect(kinds).toContain('bigger-panel');
    expect(kinds).toContain('bigger-battery');
    expect(kinds).toContain('log-less');
    expect(kinds).toContain('less-at-night');
    const means = help.changes.map(({ gainedDays }) => gainedDays!.mean);
    expect(means).toEqual([...means].sort((a, b) => b - a));
    for (const { change, says, caution } of help.changes) {
      expect(says).toMatch(/\d/);
      if (change.kind === 'bigger-battery') expect(caution).toContain('lithium');
      if (change.kind === 'tilt' || change.kind === 'clean-panel')
        expect(caution).toContain('height');
    }
  });

  it('would turn a flat panel up in a northern November', () => {
    const panel = { ...moorPower.panel, tiltDeg: 0 };
    const help = whatWouldHelp({ ...inputs, power: { ...moorPower, panel } });
    if (help.kind !== 'help') throw new Error(help.missing);
    const tilt = help.changes.find(({ change }) => change.kind === 'tilt')!.change;
    // Latitude plus 15° under a clear winter sky (common practice, no source); cloud flattens it.
    if (tilt.kind !== 'tilt') throw new Error(tilt.kind);
    expect(tilt.tiltDeg).toBeGreaterThan(35);
    expect(tilt.tiltDeg).toBeLessThanOrEqual(85);
  });
});
