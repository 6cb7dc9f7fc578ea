import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../seeded-random.ts';
import { moor, moorPower } from '../testing.ts';
import { makeWeather, type WeatherFacts } from './make-weather.ts';
import { outsideAnswer } from './outside-error.ts';
import type { OutsideForecast } from './outside-forecast.ts';
import { cloudlessHours, indexUnderCloud } from './outside-yield.ts';

const startMs = Date.UTC(2026, 9, 10);
const HORIZON = 20;
const day = (number: number, ratio: number) => ({
  day: number,
  ratio,
  isCensored: false,
  heardShare: 1,
  firstHour: 0,
});
const days = Array.from({ length: 60 }, (_, i) => day(i - 60, i % 2 === 0 ? 0.2 : 0.7));

const facts: WeatherFacts = {
  position: moor,
  panel: moorPower.panel,
  startMs,
  days: HORIZON,
  pool: { days, recentFromDay: -60, siteScale: 1 },
  temperatureC: new Float32Array(60 * 24).fill(8),
  isTemperatureMeasured: false,
  clearnessByMonth: new Array<number>(12).fill(0.4),
};

function sunnyFor(hours: number, share: number, issuedAtMs = startMs): OutsideForecast {
  const clear = cloudlessHours(moor);
  return {
    source: 'a made-up office',
    issuedAtMs,
    startMs: issuedAtMs,
    stepMs: HOUR_MS,
    members: [
      {
        ghiWm2: Array.from({ length: hours }, (_, i) => share * clear(issuedAtMs + i * HOUR_MS)),
        airC: new Array<number>(hours).fill(-4),
      },
    ],
  };
}

function means(made: ReturnType<typeof makeWeather>, paths = 2000): readonly number[] {
  const random = seededRandom(1);
  const into = { ratio: new Float64Array(HORIZON), poolDay: new Int32Array(HORIZON) };
  const sums = new Float64Array(HORIZON);
  for (let path = 0; path < paths; path++) {
    made.source.draw(random, into);
    into.ratio.forEach((ratio, i) => (sums[i] = sums[i]! + ratio / paths));
  }
  return Array.from(sums);
}

describe('an outside forecast', () => {
  it('rules its own days, and hands over to what the site knows', () => {
    const bright = means(makeWeather({ ...facts, outside: { latest: sunnyFor(72, 1) } }));
    const dull = means(makeWeather({ ...facts, outside: { latest: sunnyFor(72, 0.15) } }));
    for (const lead of [0, 1, 2]) {
      // A cloudless sky by way of Erbs gives a steep autumn panel 0.8–0.9 of the yardstick; this panel is not quite its plate.
      expect(bright[lead]).toBeGreaterThan(0.65);
      expect(dull[lead]).toBeLessThan(0.25);
    }
    expect(Math.abs(bright[12]! - dull[12]!)).toBeLessThan(0.08);
  });

  it('is named in the outlook with its days, and lends its air to them', () => {
    const made = makeWeather({ ...facts, outside: { latest: sunnyFor(72, 1) } });
    expect(made.use.outside).toEqual({
      source: 'a made-up office',
      issuedAtMs: startMs,
      days: 3,
      pairs: 0,
    });
    const into = { ratio: new Float64Array(HORIZON), poolDay: new Int32Array(HORIZON) };
    made.source.draw(seededRandom(4), into);
    expect(made.temperatureC[into.poolDay[1]! * 24 + 12]).toBeCloseTo(-4, 5);
    expect(made.temperatureC[into.poolDay[10]! * 24 + 12]).toBeCloseTo(8, 5);
  });

  it('that does not reach today is not used', () => {
    const old = sunnyFor(48, 1, startMs - 4 * DAY_MS);
    expect(makeWeather({ ...facts, outside: { latest: old } }).use.outside).toBeUndefined();
  });

  it('spreads as its members do', () => {
    const one = sunnyFor(48, 1);
    const ensemble = { ...one, members: [...one.members, ...sunnyFor(48, 0.2).members] };
    const made = makeWeather({ ...facts, outside: { latest: ensemble } });
    const random = seededRandom(2);
    const into = { ratio: new Float64Array(HORIZON), poolDay: new Int32Array(HORIZON) };
    const drawn = Array.from({ length: 400 }, () => {
      made.source.draw(random, into);
      return into.ratio[1]!;
    });
    expect(drawn.filter((ratio) => ratio > 0.6).length).toBeGreaterThan(120);
    expect(drawn.filter((ratio) => ratio < 0.4).length).toBeGreaterThan(120);
  });

  it('with cloud alone dims the sky by Kasten & Czeplak 1980: 1 − 0.75 · n^3.4', () => {
    expect(indexUnderCloud(0)).toBe(1);
    expect(indexUnderCloud(1)).toBeCloseTo(0.25, 12);
    expect(indexUnderCloud(0.5)).toBeCloseTo(0.929, 3); // 0.75 · 0.0947
  });

  it('is trusted as far as it has proved right', () => {
    const none = outsideAnswer([], 0.9);
    expect(none.sigma(0)).toBeCloseTo(0.1, 12);
    expect(none.sigma(20)).toBeCloseTo(0.27, 12);
    expect(none.factor).toBeCloseTo(0.9, 12);
    const right = Array.from({ length: 60 }, (_, i) => ({
      lead: i % 3,
      foretold: 0.3 + (i % 7) / 20,
      own: 0.8 * (0.3 + (i % 7) / 20),
    }));
    const proved = outsideAnswer(right, 1);
    expect(Math.abs(proved.factor - 0.8)).toBeLessThan(0.03);
    expect(proved.sigma(1)).toBeLessThan(0.08);
    expect(proved.sigma(6)).toBeCloseTo(0.27, 12);
  });
});

describe('what the weather is made from', () => {
  it('moves from climate to own days as they come', () => {
    const few = makeWeather({ ...facts, pool: { ...facts.pool, days: days.slice(-3) } });
    expect(few.use.climateShare).toBeGreaterThan(0.9);
    expect(makeWeather(facts).use.ownShare).toBeCloseTo(0.5, 5);
  });

  it('draws on whole seasons once there are two earlier years of them', () => {
    const years = [2, 1].flatMap((year) =>
      Array.from({ length: 61 }, (_, i) => day(Math.round(-year * 365.25) - 30 + i, 0.5)),
    );
    const pool = { ...facts.pool, days: [...years, ...days] };
    const made = makeWeather({
      ...facts,
      pool,
      temperatureC: new Float32Array(pool.days.length * 24),
    });
    expect(made.use.seasonShare).toBeGreaterThan(0.3);
    const { ownShare, seasonShare, climateShare } = made.use;
    expect(ownShare + seasonShare + climateShare).toBeCloseTo(1, 12);
  });

  it('finds a panel that gives half its plate, and is not misled by days cut short by a full battery', () => {
    const made = (factor: number, isCensored: boolean) => {
      const pool = days.map((one, i) => ({
        ...one,
        ratio: factor * (0.15 + 0.1 * (i % 8)),
        isCensored,
      }));
      return makeWeather({ ...facts, pool: { ...facts.pool, days: pool } }).use.panel;
    };
    expect(made(0.5, false).ratio).toBeLessThan(0.7 * made(1, false).ratio);
    expect(made(0.3, true).ratio).toBeGreaterThan(0.8);
  });
});
