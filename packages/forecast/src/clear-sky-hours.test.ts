import { DAY_MS } from '@duskline/domain';
import { referenceHourlyWh } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { clearSkyHours } from './clear-sky-hours.ts';

const days = 62;
const sumOf = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0);

describe('the clear sky by every fourth day', () => {
  // Against the chain computed for every day: `referenceHourlyWh`, itself held to published values in test/reference/energy.
  it.each([-66, -35, 0, 20, 45, 55, 66, 78])(
    'keeps each day at latitude %i near the whole computation',
    (latitudeDeg) => {
      // Where the sun comes back over the rim its first days bend most; there is next to no energy in them.
      const most = Math.abs(latitudeDeg) > 66 ? 0.02 : 0.007;
      for (const month of [0, 2, 5, 8]) {
        const inputs = {
          position: { latitudeDeg, longitudeDeg: 12.3, elevationM: 100 },
          panel: { ratedW: 10, tiltDeg: 50, azimuthDeg: latitudeDeg >= 0 ? 180 : 0 },
          startMs: Date.UTC(2026, month, 3, 5),
          hours: days * 24,
        };
        const quick = clearSkyHours(inputs);
        const whole = referenceHourlyWh(inputs);
        const byDay = Array.from({ length: days }, (_, day) =>
          sumOf(whole.subarray(day * 24, day * 24 + 24)),
        );
        const best = Math.max(...byDay);
        byDay.forEach((wholeWh, day) => {
          const quickWh = sumOf(quick.subarray(day * 24, day * 24 + 24));
          expect(Math.abs(quickWh - wholeWh)).toBeLessThan(most * best + 1e-9);
        });
      }
    },
  );

  it('computes a short stretch in full', () => {
    const inputs = {
      position: { latitudeDeg: 54, longitudeDeg: 0, elevationM: 0 },
      panel: { ratedW: 10, tiltDeg: 60, azimuthDeg: 180 },
      startMs: Date.UTC(2026, 4, 1),
      hours: (4 * DAY_MS) / 3_600_000,
    };
    expect(clearSkyHours(inputs)).toEqual(referenceHourlyWh(inputs));
  });
});
