import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { greatCircleKm } from './great-circle.ts';
import { orderStops, wayKm } from './order-stops.ts';

const place = fc.record({
  latitudeDeg: fc.double({ min: 54, max: 56, noNaN: true }),
  longitudeDeg: fc.double({ min: -4, max: -1, noNaN: true }),
});

describe('the great-circle distance', () => {
  // The haversine task of rosettacode.org gives 2887.26 km for Nashville to Los Angeles on a sphere of 6372.8 km (from memory).
  it('is the published one between two airports', () => {
    const km = greatCircleKm(
      { latitudeDeg: 36.12, longitudeDeg: -86.67 },
      { latitudeDeg: 33.94, longitudeDeg: -118.4 },
    );
    expect(km).toBeCloseTo((2887.26 * 6371.0088) / 6372.8, 1);
  });

  // A nautical mile was made to be a minute of latitude: 1852 m by definition, 60 of them a degree.
  it('of a degree of latitude is about sixty nautical miles', () => {
    const km = greatCircleKm(
      { latitudeDeg: 54, longitudeDeg: -2 },
      { latitudeDeg: 55, longitudeDeg: -2 },
    );
    expect(Math.abs(km - 60 * 1.852)).toBeLessThan(0.1);
  });

  it('is the same both ways, and none to oneself', () => {
    fc.assert(
      fc.property(place, place, (a, b) => {
        expect(greatCircleKm(a, b)).toBeCloseTo(greatCircleKm(b, a), 9);
        expect(greatCircleKm(a, a)).toBe(0);
      }),
    );
  });
});

describe('the order of stops', () => {
  it('goes round a square instead of across it', () => {
    const at = (latitudeDeg: number, longitudeDeg: number) => ({ latitudeDeg, longitudeDeg });
    const corners = [at(54, -2), at(54.1, -1.83), at(54, -1.83), at(54.1, -2)];
    const home = at(53.99, -2.01);
    const order = orderStops(corners, home);
    // The diagonal of a square is √2 of its side: any way that crosses is longer.
    expect(['0213', '3120', '0312', '2130']).toContain(order.join(''));
  });

  it.each([
    ['up to eight stops: no other order is shorter', 5, 8],
    ['many stops: none is left out, and no order made by chance is shorter', 9, 25],
  ])('%s', (_what, least, most) => {
    fc.assert(
      fc.property(
        fc.array(place, { minLength: least, maxLength: most }),
        fc.option(place, { nil: undefined }),
        fc.infiniteStream(fc.nat({ max: 999 })),
        (stops, home, dice) => {
          const order = orderStops(stops, home);
          expect([...order].sort((a, b) => a - b)).toEqual(stops.map((_, i) => i));
          const km = wayKm(
            order.map((i) => stops[i]!),
            home,
          );
          for (let trial = 0; trial < 20; trial++) {
            const other = stops
              .map((stop) => ({ stop, at: dice.next().value }))
              .sort((a, b) => a.at - b.at)
              .map(({ stop }) => stop);
            expect(km).toBeLessThanOrEqual(wayKm(other, home) + 1e-6);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});
