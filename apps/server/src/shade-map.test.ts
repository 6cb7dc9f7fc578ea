import { describe, expect, it } from 'vitest';
import { shadeMap } from './shade-map.ts';

const moor = { latitudeDeg: 54, longitudeDeg: -2, elevationM: 400 };

describe('the shade map', () => {
  it('has the sun at noon where geometry puts it: 90° − latitude + declination', () => {
    const { paths } = shadeMap([], moor);
    const noon = (on: string) => Math.max(...paths.find((path) => path.on === on)!.elevationDeg);
    // Obliquity of the ecliptic 23.44° (Meeus, Astronomical Algorithms, ch. 22): 36 ± 23.44 at the solstices.
    expect(Math.abs(noon('06-21') - 59.44)).toBeLessThan(0.2);
    expect(Math.abs(noon('12-21') - 12.56)).toBeLessThan(0.2);
    expect(Math.abs(noon('03-20') - 36)).toBeLessThan(0.5);
  });

  it('puts a lesson where the sun stands in these months, and nowhere it never stands', () => {
    const bin = { envelopeRatio: 0.5, shadeRatio: 0.5, hours: 40 };
    const { bins } = shadeMap(
      [
        { ...bin, season: 2, azimuthDeg: 180 },
        { ...bin, season: 5, azimuthDeg: 0 },
      ],
      moor,
    );
    expect(bins).toHaveLength(1);
    // May and June at noon: declination from +15° (1 May) to +23.44° (almanac, from memory).
    expect(bins[0]!.highDeg).toBeGreaterThan(59);
    expect(bins[0]!.highDeg).toBeLessThan(60);
    expect(bins[0]!.lowDeg).toBeGreaterThan(46);
    expect(bins[0]!.lowDeg).toBeLessThan(51.5);
  });
});
