import type { PowerSystem } from '@duskline/domain';
import {
  advanceBattery,
  batteryPackOf,
  type BatteryPack,
  capacityWhAt,
  startBatteryWalk,
} from '@duskline/energy';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { moorPower } from './testing.ts';
import { newTracks, newWalker, type PathDraw, type WalkPlan, walkPath } from './walk.ts';

/** A battery that loses nothing and takes any current, so that the sums can be done by hand. */
function losslessPack(facts: Partial<BatteryPack>): BatteryPack {
  const pack = batteryPackOf(moorPower);
  return {
    ...pack,
    facts: { ...pack.facts, chargeBands: [{ fromC: -50, toC: 80, ratePerH: 100 }] },
    capacityWhByDegree: pack.capacityWhByDegree.map(() => 100),
    chargeEfficiency: 1,
    dischargeEfficiency: 1,
    chargerEfficiency: 1,
    selfDischargePerH: 0,
    taperWidthRatio: 1e-12,
    finishRatio: 1,
    ...facts,
  };
}

function steadyPlan(facts: {
  readonly harvestWhPerDay: number;
  readonly loadW: number;
  readonly days: number;
  readonly startsAs: 'up' | 'dark';
  readonly pack?: Partial<BatteryPack>;
}): WalkPlan {
  const steps = facts.days * 24;
  return {
    steps,
    lengthH: new Uint8Array(steps).fill(1),
    referenceW: new Float64Array(steps).fill(facts.harvestWhPerDay / 24),
    loadW: new Float64Array(steps).fill(facts.loadW),
    day: Uint16Array.from({ length: steps }, (_, step) => Math.floor(step / 24)),
    slot: Uint8Array.from({ length: steps }, (_, step) => step % 24),
    temperatureC: new Float32Array(24).fill(20),
    pack: losslessPack(facts.pack ?? {}),
    startsAs: facts.startsAs,
    fan: { everyH: 6, count: 1 },
    nowH: 0,
    horizonH: steps,
  };
}

function plainDraw(days: number, startRatio: number): PathDraw {
  return {
    ratio: new Float64Array(days).fill(1),
    poolDay: new Int32Array(days),
    loadFactor: new Float64Array(days).fill(1),
    scale: 1,
    capacityFactor: 1,
    startRatio,
  };
}

function walk(plan: WalkPlan, draw: PathDraw) {
  const tracks = newTracks(1, plan.fan.count);
  walkPath(newWalker(plan), draw, tracks, 0);
  return {
    emptyDays: tracks.emptyHours[0]! / 24,
    returnDays: tracks.returnHours[0]! / 24,
    charge: tracks.charge,
    offeredWh: tracks.offeredWh[0]!,
  };
}

describe('one path', () => {
  it('spreads a day’s light as its pool day had it: the same energy, all of it before noon', () => {
    // 48 Wh a day over 24 h of 1.5 W on a battery of 100 Wh that stops at 10 %: evenly lit it never falls by night …
    const even = steadyPlan({ harvestWhPerDay: 48, loadW: 1.5, days: 2, startsAs: 'up' });
    const dayShape = Float32Array.from({ length: 24 }, (_, slot) => (slot < 12 ? 2 : 0));
    const [plain, shaped] = [even, { ...even, dayShape }].map((plan) =>
      walk({ ...plan, fan: { everyH: 12, count: 5 } }, plainDraw(2, 0.5)),
    );
    expect(shaped!.offeredWh).toBeCloseTo(plain!.offeredWh, 9);
    // … by hand: + 12 h × (2 − 1.5) W = 56 Wh, against + 12 h × (4 − 1.5) W = 80 Wh, then − 12 h × 1.5 W = 62 Wh.
    expect(plain!.charge[1]).toBeCloseTo(0.56, 6);
    expect(shaped!.charge[1]).toBeCloseTo(0.8, 6);
    expect(shaped!.charge[2]).toBeCloseTo(0.62, 6);
  });

  it('empties after usable energy ÷ net load, to the last bit: 50 Wh at 2 W less 18 Wh a day lasts 50/30 days', () => {
    const plan = steadyPlan({ harvestWhPerDay: 18, loadW: 2, days: 10, startsAs: 'up' });
    expect(walk(plan, plainDraw(10, 0.6)).emptyDays).toBeCloseTo(50 / 30, 10);
  });

  it('without any sun lasts its no-sun reserve: 40 Wh at 0.5 W are 80 hours', () => {
    const plan = steadyPlan({ harvestWhPerDay: 0, loadW: 0.5, days: 30, startsAs: 'up' });
    expect(walk(plan, plainDraw(30, 0.5)).emptyDays).toBeCloseTo(80 / 24, 10);
  });

  it('never empties when harvest covers the load', () => {
    const plan = steadyPlan({ harvestWhPerDay: 24, loadW: 1, days: 30, startsAs: 'up' });
    expect(walk(plan, plainDraw(30, 0.2)).emptyDays).toBe(Number.POSITIVE_INFINITY);
  });

  it('is empty at once when it starts at its shut-down level', () => {
    const plan = steadyPlan({ harvestWhPerDay: 0, loadW: 1, days: 3, startsAs: 'up' });
    expect(walk(plan, plainDraw(3, 0.1)).emptyDays).toBe(0);
  });

  // Days dark = (restart − shut-down) · C ÷ (harvest a day − 24 h · off-state draw), for 100 Wh, 10 and 90 %.
  // Arithmetic of the trade (no source); the rounded days are worked by hand: 80/27.6, 80/7.6, 80/3.4, 80/2.6.
  it.each([
    { harvestWhPerDay: 30, offStateDrawW: 0.1, days: 2.9 },
    { harvestWhPerDay: 10, offStateDrawW: 0.1, days: 10.5 },
    { harvestWhPerDay: 10, offStateDrawW: 0.275, days: 23.5 },
    { harvestWhPerDay: 5, offStateDrawW: 0.1, days: 30.8 },
  ])(
    'stays dark for $days days at $harvestWhPerDay Wh a day and $offStateDrawW W off',
    ({ harvestWhPerDay, offStateDrawW, days }) => {
      const plan = steadyPlan({
        harvestWhPerDay,
        loadW: 1,
        days: 60,
        startsAs: 'dark',
        pack: { offStateDrawW },
      });
      const { returnDays } = walk(plan, plainDraw(60, 0.1));
      expect(returnDays).toBeCloseTo(80 / (harvestWhPerDay - 24 * offStateDrawW), 6);
      expect(returnDays).toBeCloseTo(days, 1);
    },
  );

  it.each([
    { harvestWhPerDay: 10, offStateDrawW: 0.5 },
    { harvestWhPerDay: 30, offStateDrawW: 1.6 },
  ])(
    'never comes back at $harvestWhPerDay Wh a day and $offStateDrawW W off: halted is not off',
    ({ harvestWhPerDay, offStateDrawW }) => {
      const plan = steadyPlan({
        harvestWhPerDay,
        loadW: 1,
        days: 120,
        startsAs: 'dark',
        pack: { offStateDrawW },
      });
      expect(walk(plan, plainDraw(120, 0.1)).returnDays).toBe(Number.POSITIVE_INFINITY);
    },
  );

  it('does not come back at the shut-down level: only the restart level ends the dark', () => {
    // 24 Wh a day less 2.4: after two days 53.2 Wh are in, up from 10; the restart level of 90 comes after 80/21.6 days.
    const plan = steadyPlan({ harvestWhPerDay: 24, loadW: 1, days: 2, startsAs: 'dark' });
    expect(walk(plan, plainDraw(2, 0.1)).returnDays).toBe(Number.POSITIVE_INFINITY);
    const longer = steadyPlan({ harvestWhPerDay: 24, loadW: 1, days: 4, startsAs: 'dark' });
    expect(walk(longer, plainDraw(4, 0.1)).returnDays).toBeCloseTo(80 / 21.6, 8);
  });

  it('takes no charge below the charge temperature of its chemistry', () => {
    const facts = { harvestWhPerDay: 48, loadW: 1, days: 10, startsAs: 'up' } as const;
    const cold = {
      ...steadyPlan({ ...facts, pack: { facts: batteryPackOf(moorPower).facts } }),
      temperatureC: new Float32Array(24).fill(-5),
      // By day the sun carries the load, by night nothing does: 12 h · 1 W a day out of 50 Wh.
      referenceW: Float64Array.from({ length: 240 }, (_, hour) => (hour % 24 < 12 ? 4 : 0)),
    };
    // 48 hours of night by the end of day 4; the 50th falls into the fifth night: day 4, hour 12 + 2.
    expect(walk(cold, plainDraw(10, 0.6)).emptyDays).toBeCloseTo(4 + 14 / 24, 8);
  });

  it('notes charge at the fan hours: 100 Wh at 1 W fall by 6 points in six hours', () => {
    const plan = {
      ...steadyPlan({ harvestWhPerDay: 0, loadW: 1, days: 1, startsAs: 'up' }),
      fan: { everyH: 6, count: 5 },
    };
    const { charge } = walk(plan, plainDraw(1, 0.9));
    [0.9, 0.84, 0.78, 0.72, 0.66].forEach((ratio, k) => expect(charge[k]).toBeCloseTo(ratio, 6));
  });

  it('walks a night in one stride as in single hours', () => {
    const hourly = steadyPlan({ harvestWhPerDay: 0, loadW: 1.3, days: 6, startsAs: 'up' });
    const strides = { ...hourly, steps: 24, lengthH: new Uint8Array(24).fill(6) };
    strides.day = Uint16Array.from({ length: 24 }, (_, step) => Math.floor(step / 4));
    const draw = plainDraw(6, 0.95);
    expect(walk(strides, draw).emptyDays).toBeCloseTo(walk(hourly, draw).emptyDays, 9);
  });
});

describe('any path', () => {
  const days = 20;
  const scenario = fc.record({
    weather: fc.array(fc.double({ min: 0, max: 1.1, noNaN: true }), {
      minLength: days,
      maxLength: days,
    }),
    panelW: fc.double({ min: 0, max: 30, noNaN: true }),
    loadW: fc.double({ min: 0.05, max: 3, noNaN: true }),
    startRatio: fc.double({ min: 0.15, max: 1, noNaN: true }),
    more: fc.double({ min: 1, max: 3, noNaN: true }),
  });

  function emptyDays(
    facts: { weather: number[]; panelW: number; loadW: number; startRatio: number },
    better: { scale?: number; capacityFactor?: number; load?: number; start?: number } = {},
  ): number {
    const plan = steadyPlan({ harvestWhPerDay: 0, loadW: facts.loadW, days, startsAs: 'up' });
    const sunny = {
      ...plan,
      pack: batteryPackOf(moorPower),
      referenceW: plan.referenceW.map((_, hour) =>
        Math.max(0, facts.panelW * Math.sin(((hour % 24) / 24) * 2 * Math.PI)),
      ),
    };
    const draw = {
      ...plainDraw(days, Math.min(1, facts.startRatio * (better.start ?? 1))),
      ratio: Float64Array.from(facts.weather),
      loadFactor: new Float64Array(days).fill(better.load ?? 1),
      scale: better.scale ?? 1,
      capacityFactor: better.capacityFactor ?? 1,
    };
    return walk(sunny, draw).emptyDays;
  }
  const ROUNDING = 1e-9;
  const never = (facts: Parameters<typeof emptyDays>[0], better: Parameters<typeof emptyDays>[1]) =>
    emptyDays(facts, better) >= emptyDays(facts) - ROUNDING;
  const settings = { seed: 20_261_125, numRuns: 300 };

  it('is never empty earlier with more panel', () => {
    fc.assert(
      fc.property(scenario, (facts) => never(facts, { scale: facts.more })),
      settings,
    );
  });

  it('is never empty earlier with more battery', () => {
    fc.assert(
      fc.property(scenario, (facts) => never(facts, { capacityFactor: facts.more })),
      settings,
    );
  });

  it('is never empty earlier with more charge to start from', () => {
    fc.assert(
      fc.property(scenario, (facts) => never(facts, { start: facts.more })),
      settings,
    );
  });

  it('is never empty later with more load', () => {
    fc.assert(
      fc.property(scenario, (facts) => {
        const more = emptyDays(facts, { load: facts.more });
        return more <= emptyDays(facts) + ROUNDING;
      }),
      settings,
    );
  });
});

describe('an hour of the walk', () => {
  /** The same path by `advanceBattery` alone, hour by hour. */
  function byTheBalanceAlone(plan: WalkPlan, draw: PathDraw): number[] {
    const battery = startBatteryWalk(draw.startRatio, plan.startsAs);
    const flow = 1 / draw.capacityFactor;
    const pack = { ...plan.pack, offStateDrawW: plan.pack.offStateDrawW * flow };
    const noted = [draw.startRatio];
    for (let step = 0; step < plan.steps; step++) {
      const day = plan.day[step]!;
      battery.hours = plan.lengthH[step]!;
      battery.harvestW = plan.referenceW[step]! * draw.ratio[day]! * draw.scale * flow;
      battery.loadW = plan.loadW[step]! * draw.loadFactor[day]! * flow;
      battery.batteryC = plan.temperatureC[draw.poolDay[day]! * 24 + plan.slot[step]!]!;
      advanceBattery(pack, battery);
      noted.push(battery.chargeRatio);
    }
    return noted;
  }

  const days = 12;
  const scenario = fc.record({
    chemistry: fc.constantFrom('li-ion-nmc', 'lifepo4', 'lead-acid-agm', 'nimh' as const),
    panelW: fc.double({ min: 0, max: 60, noNaN: true }),
    loadW: fc.double({ min: 0, max: 4, noNaN: true }),
    startRatio: fc.double({ min: 0.11, max: 1, noNaN: true }),
    capacityFactor: fc.double({ min: 0.5, max: 2, noNaN: true }),
    batteryC: fc.double({ min: -30, max: 55, noNaN: true }),
    startsAs: fc.constantFrom('up', 'dark' as const),
    restartRatio: fc.constantFrom(0.3, 0.9, 0.995),
    weather: fc.array(fc.double({ min: 0, max: 1.1, noNaN: true }), {
      minLength: days,
      maxLength: days,
    }),
  });
  function walkOf(facts: {
    chemistry: PowerSystem['battery']['chemistry'];
    panelW: number;
    loadW: number;
    startRatio: number;
    capacityFactor: number;
    batteryC: number;
    startsAs: 'up' | 'dark';
    restartRatio: number;
    weather: number[];
  }) {
    const { chemistry, restartRatio, startsAs } = facts;
    const battery = { ...moorPower.battery, chemistry };
    const plan: WalkPlan = {
      ...steadyPlan({ harvestWhPerDay: 0, loadW: facts.loadW, days, startsAs }),
      referenceW: Float64Array.from({ length: days * 24 }, (_, hour) =>
        Math.max(0, facts.panelW * Math.sin(((hour % 24) / 24) * 2 * Math.PI)),
      ),
      temperatureC: new Float32Array(24).fill(facts.batteryC),
      pack: batteryPackOf({ ...moorPower, battery, restartRatio, offStateDrawW: 0.05 }),
      fan: { everyH: 1, count: days * 24 + 1 },
    };
    const draw: PathDraw = {
      ...plainDraw(days, startsAs === 'dark' ? 0.1 * facts.startRatio : facts.startRatio),
      ratio: Float64Array.from(facts.weather),
      capacityFactor: facts.capacityFactor,
      scale: 0.9,
    };
    const tracks = newTracks(1, plan.fan.count);
    walkPath(newWalker(plan), draw, tracks, 0);
    return { plan, draw, tracks };
  }
  const settings = { seed: 20_261_126, numRuns: 400 };

  it('is that of the exact balance, whatever turns in it', () => {
    fc.assert(
      fc.property(scenario, (facts) => {
        const { plan, draw, tracks } = walkOf(facts);
        // Charge is noted in single precision; the levels themselves agree to rounding.
        const worst = byTheBalanceAlone(plan, draw).reduce(
          (most, ratio, hour) => Math.max(most, Math.abs(tracks.charge[hour]! - ratio)),
          0,
        );
        expect(worst).toBeLessThan(1e-7);
      }),
      settings,
    );
  });

  // Conservation of energy, the first law: what the panel offered is served, stored, lost on the way in and out, or spilled.
  it('loses no energy but by its efficiencies', () => {
    fc.assert(
      fc.property(scenario, (facts) => {
        const { plan, tracks } = walkOf(facts);
        const { chargerEfficiency, chargeEfficiency, dischargeEfficiency } = plan.pack;
        const inWh = (tracks.offeredWh[0]! - tracks.spilledWh[0]!) * chargerEfficiency;
        const outWh =
          tracks.servedWh[0]! +
          tracks.storedWh[0]! / chargeEfficiency -
          tracks.drawnWh[0]! * dischargeEfficiency;
        expect(Math.abs(inWh - outWh)).toBeLessThan(1e-9 * Math.max(1, tracks.offeredWh[0]!));
      }),
      settings,
    );
  });

  it('keeps in the cells what went in and did not come out, where nothing leaks', () => {
    fc.assert(
      fc.property(scenario, (facts) => {
        const { plan, draw } = walkOf(facts);
        const tight = { ...plan, pack: { ...plan.pack, selfDischargePerH: 0 } };
        const tracks = newTracks(1, plan.fan.count);
        walkPath(newWalker(tight), draw, tracks, 0);
        const capacity =
          capacityWhAt(plan.pack, Math.fround(facts.batteryC)) * facts.capacityFactor;
        const risenWh = (tracks.charge[plan.fan.count - 1]! - draw.startRatio) * capacity;
        // The charge is noted in single precision: 6e-8 of the capacity at either end.
        expect(
          Math.abs(tracks.storedWh[0]! - tracks.drawnWh[0]! - risenWh) / capacity,
        ).toBeLessThan(2e-7);
      }),
      settings,
    );
  });
});
