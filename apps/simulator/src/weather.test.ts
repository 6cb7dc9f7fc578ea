import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { createWeather } from './weather.ts';

const startMs = Date.UTC(2026, 0, 1);
const hours = Array.from({ length: 365 * 24 }, (_, i) => startMs + i * HOUR_MS);
const year = (seed: number, siteIndex = 0, elevationM = 200) => {
  const weather = createWeather(seed, startMs);
  return hours.map((atMs) => weather.at(atMs, siteIndex, elevationM));
};
const mean = (numbers: readonly number[]) => numbers.reduce((a, b) => a + b, 0) / numbers.length;
function correlation(a: readonly number[], b: readonly number[]): number {
  const [meanA, meanB] = [mean(a), mean(b)];
  const product = mean(a.map((x, i) => (x - meanA) * ((b[i] ?? 0) - meanB)));
  const spread = (xs: readonly number[], m: number) => Math.sqrt(mean(xs.map((x) => (x - m) ** 2)));
  return product / (spread(a, meanA) * spread(b, meanB));
}

describe('the weather of the pretend catchment', () => {
  it('is the same for the same seed, in whatever order it is asked for, and another for another', () => {
    const forwards = createWeather(7, startMs);
    const backwards = createWeather(7, startMs);
    const some = hours.filter((_, i) => i % 97 === 0);
    const asked = [...some].reverse().map((atMs) => backwards.at(atMs, 3, 200));
    expect(some.map((atMs) => forwards.at(atMs, 3, 200))).toEqual(asked.reverse());
    expect(createWeather(8, startMs).at(some[5] ?? 0, 3, 200)).not.toEqual(
      forwards.at(some[5] ?? 0, 3, 200),
    );
  });

  // Records of the United Kingdom (Met Office, from memory): −27.2 °C and 40.3 °C; 92 mm of rain in an hour.
  // Of the world, reduced to sea level (WMO, from memory): 870 hPa and 1085 hPa.
  it.each([1, 2, 20_261])('stays within what has been seen on earth, seed %i', (seed) => {
    for (const sky of year(seed)) {
      expect(sky.cloud).toBeGreaterThanOrEqual(0);
      expect(sky.cloud).toBeLessThanOrEqual(1);
      expect(sky.airC).toBeGreaterThan(-27.2);
      expect(sky.airC).toBeLessThan(40.3);
      expect(sky.windMs).toBeGreaterThan(0);
      expect(sky.windMs).toBeLessThan(40);
      expect(sky.relativeHumidityPct).toBeGreaterThan(0);
      expect(sky.relativeHumidityPct).toBeLessThanOrEqual(100);
      expect(sky.rainMmPerHour).toBeGreaterThanOrEqual(0);
      expect(sky.rainMmPerHour).toBeLessThan(92);
      expect(sky.pressureHpa).toBeGreaterThan(870 * Math.exp(-200 / 8400));
      expect(sky.pressureHpa).toBeLessThan(1085);
    }
  });

  it('is that of a cool, wet upland: mild by day, colder in January than in July, mostly cloudy', () => {
    const skies = year(20_261);
    const ofMonth = (month: number) =>
      mean(
        skies
          .filter((_, i) => new Date(hours[i] ?? 0).getUTCMonth() === month)
          .map(({ airC }) => airC),
      );
    expect(ofMonth(6) - ofMonth(0)).toBeGreaterThan(7);
    const cloud = mean(skies.map((sky) => sky.cloud));
    expect(cloud).toBeGreaterThan(0.5);
    expect(cloud).toBeLessThan(0.8);
    const rainMm = skies.reduce((sum, sky) => sum + sky.rainMmPerHour, 0);
    expect(rainMm).toBeGreaterThan(600);
    expect(rainMm).toBeLessThan(3000);
  });

  it('is colder on high ground by the 6.5 K a kilometre of the ICAO standard atmosphere', () => {
    const weather = createWeather(3, startMs);
    const atMs = startMs + 40 * DAY_MS;
    const [low, high] = [weather.at(atMs, 0, 0), weather.at(atMs, 0, 1000)];
    expect(low.airC - high.airC).toBeCloseTo(6.5, 6);
  });

  it('brings neighbours the same fronts, but not the same clouds', () => {
    const [here, there] = [year(5, 0), year(5, 9)];
    const r = correlation(
      here.map(({ cloud }) => cloud),
      there.map(({ cloud }) => cloud),
    );
    expect(r).toBeGreaterThan(0.7);
    expect(r).toBeLessThan(0.999);
  });
});
