import { describe, expect, it } from 'vitest';
import { doubtOfPlace, offsetOfZone } from './doubt-of-place.ts';

const doubt = (latitudeDeg: number, longitudeDeg: number, timeZone: string) =>
  doubtOfPlace({ latitudeDeg, longitudeDeg }, { timeZone, offsetH: offsetOfZone(timeZone) });

// Offsets of zones by the IANA time zone database, from memory.
describe('a place and its zone', () => {
  it('are doubted where the figures fit the other way round', () => {
    expect(doubt(2.9, 54.9, 'Europe/London')).toBe(
      'Latitude and longitude may be swapped: 54.9 north, 2.9 east lies where clocks are those of Europe/London; 2.9, 54.9 does not.',
    );
    expect(doubt(-2.31, 54.71, 'Europe/London')).toMatch(/^Latitude and longitude may be swapped/);
  });

  it('are doubted where the zone is of another part of the world', () => {
    expect(doubt(54.9, -2.3, 'Australia/Sydney')).toBe(
      'At longitude −2.3° the sun keeps about UTC+0, but Australia/Sydney is UTC+10. Is the zone right, and the sign of the longitude?',
    );
  });

  it('are believed where people live so', () => {
    expect(doubt(54.71, -2.31, 'Europe/London')).toBeUndefined();
    // Western China keeps the clock of its east; Iceland and western Spain are an hour and more off; Fiji beyond the date line.
    expect(doubt(39.5, 76, 'Asia/Shanghai')).toBeUndefined();
    expect(doubt(64.1, -21.9, 'Atlantic/Reykjavik')).toBeUndefined();
    expect(doubt(43, -9, 'Europe/Madrid')).toBeUndefined();
    expect(doubt(-17, -179.5, 'Pacific/Fiji')).toBeUndefined();
    expect(doubt(27.7, 85.3, 'Asia/Kathmandu')).toBeUndefined();
  });
});
