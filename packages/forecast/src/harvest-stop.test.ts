import { HOUR_MS, type HarvestStop } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { ForecastInputs } from './forecast-inputs.ts';
import { forecastNode } from './forecast-node.ts';
import { seasonOutlook } from './season/season-outlook.ts';
import { fromStored, type StoredInputs, storedInputs } from './stored-inputs.ts';
import { exactly, moor, moorPower } from './testing.ts';
import { live } from './testing-life.ts';
import { whatIf } from './what-helps/what-if.ts';
import { whatWouldHelp } from './what-helps/what-would-help.ts';

/** June on the moor: with harvest the node has nothing to fear within days. */
const history = live({ loadW: () => 1.3, endMs: Date.UTC(2026, 5, 20) });
const nowMs = history.startMs + history.panelW.length * HOUR_MS;
const sunny: ForecastInputs = {
  nowMs,
  seed: 7,
  position: moor,
  power: moorPower,
  history,
  charge: exactly(0.6, nowMs),
  paths: 200,
};
const stop = (hoursAgo: number): HarvestStop => ({
  sinceMs: nowMs - hoursAgo * HOUR_MS,
  cause: 'panel connector failed',
  probability: 0.97,
});
const stopped: ForecastInputs = { ...sunny, harvestStop: stop(9) };

describe('an outlook of a node whose harvest has stopped', () => {
  it('falls by the load alone, whatever the sky', () => {
    expect(forecastNode(sunny)).toHaveProperty('darkWithin3DaysProbability', expect.closeTo(0, 1));
    const outlook = forecastNode(stopped);
    // By hand: half of 100 Wh at 1.3 W lasts 38 h; cells give a little less than they hold, and capacity is good to a tenth.
    if (outlook.kind !== 'empties-in') throw new Error(outlook.kind);
    expect(outlook.p50Days).toBeGreaterThan(1.2);
    expect(outlook.p50Days).toBeLessThan(1.75);
    expect(outlook.p90Days).toBeLessThan(2.2);
    expect(outlook.darkWithin3DaysProbability).toBeGreaterThan(0.99);
    expect(outlook.drivers.harvestWhPerDay).toBe(0);
    expect(outlook.harvestStop).toEqual(stopped.harvestStop);
    const harvest = outlook.reasons?.find(({ about }) => about === 'harvest')?.says;
    expect(harvest).toMatch(/^No harvest is reckoned with until somebody mends it/);
    expect(harvest).toContain(
      'panel connector failed (connector and charger taken together: 97 %)',
    );
    expect(harvest).toMatch(/nothing has come in since \w{3} \d\d? \w{3} \d\d:\d\d UTC, /);
  });

  it('never sees a dark one back, unless it is mended', () => {
    const dark = { sinceMs: nowMs - 20 * HOUR_MS, chargeRatio: 0.1 };
    const asleep = { ...stopped, charge: undefined, dark, harvestStop: stop(30) };
    expect(forecastNode(asleep)).toMatchObject({ back: { kind: 'out-of-reach' } });
    const help = whatWouldHelp(asleep);
    if (help.kind !== 'help') throw new Error(help.missing);
    expect(help.changes[0]?.change.kind).toBe('mend-harvest');
    expect(help.changes[0]?.gainedDays?.p50).toBeGreaterThan(1);
    expect(help.changes[0]?.caution).toMatch(/cover it before/);
    // A larger panel behind a dead plug is no help.
    expect(help.changes.map(({ change }) => change.kind)).not.toContain('bigger-panel');
  });

  it('is mended into the very outlook of a node whose harvest never stopped', () => {
    const change = { kind: 'mend-harvest', cause: 'panel connector failed' } as const;
    const mended = whatIf({ ...stopped, harvestStop: stop(0) }, change);
    const whole = forecastNode(sunny);
    if ('kind' in mended || whole.kind === 'insufficient-data') throw new Error('too little');
    expect(mended.darkWithin14Days.before).toBeGreaterThan(0.99);
    expect(mended.darkWithin14Days.after).toBe(whole.darkWithin14DaysProbability);
    expect(mended.isAtLeast).toBe(true);
  });

  it('says where mending comes too late for the next stop, instead of 0.0 days', () => {
    const change = { kind: 'mend-harvest', cause: 'panel connector failed' } as const;
    const says = (ratio: number): string => {
      const found = whatIf(
        { ...stopped, charge: exactly(ratio, nowMs), harvestStop: stop(9) },
        change,
      );
      return 'kind' in found ? found.missing : found.says;
    };
    // Midnight in June, by hand: 3 Wh at 1.3 W are gone before dawn, 7.5 Wh two hours after it, 50 Wh a day later.
    expect(says(0.13)).toMatch(/: no days gained before the next stop; the chance/);
    expect(says(0.175)).toMatch(
      /: too late for the next stop in half of the cases; (at least )?\d+\.[1-9] days more on average/,
    );
    expect(says(0.6)).toMatch(/: at least \d+\.\d days more where/);
  });

  it('changes nothing before it begins', () => {
    const { harvestStop, ...later } = forecastNode({ ...sunny, harvestStop: stop(-40 * 24) });
    expect(harvestStop).toBeDefined();
    expect(later).toMatchObject({ ...forecastNode(sunny), reasons: expect.anything() as unknown });
  });

  it('is made again from what is stored', () => {
    const text = JSON.stringify(storedInputs(stopped));
    expect(forecastNode(fromStored(JSON.parse(text) as StoredInputs))).toEqual(
      forecastNode(stopped),
    );
  });

  it('is taken for mended in the year ahead', () => {
    const asEver = seasonOutlook({ ...sunny, paths: 20 });
    const year = seasonOutlook({ ...sunny, paths: 20, harvestStop: stop(0) });
    if (year.kind !== 'season' || asEver.kind !== 'season') throw new Error('too little');
    expect(year.months).toEqual(asEver.months);
    expect(year.says).toContain('taken for mended');
  });
});

describe('the chances beside a change', () => {
  it('are bent as those of the outlook are', () => {
    // By Cox's map with offset −1 and slope 0.8: log-odds(0.5) = 0 → 1 / (1 + e).
    const map = { offset: -1, slope: 0.8, cases: 300 };
    const change = { kind: 'mend-harvest', cause: 'x' } as const;
    const raw = whatIf(sunny, change);
    const bent = whatIf(sunny, change, map);
    if ('kind' in raw || 'kind' in bent) throw new Error('too little');
    const given = raw.darkWithin14Days.before;
    const odds = Math.exp(-1 + 0.8 * Math.log(given / (1 - given)));
    expect(bent.darkWithin14Days.before).toBeCloseTo(odds / (1 + odds), 6);
  });
});
