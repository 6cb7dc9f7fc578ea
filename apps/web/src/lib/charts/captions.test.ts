import type { ReadingsJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { fixtureNow, rowFixture } from '../fleet/fixtures.ts';
import { balanceCaption, chargeCaption, readingsCaption } from './captions.ts';

const reader = { timeZone: 'Europe/London', nowMs: Date.parse(fixtureNow) };
const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

describe('the sentence under a chart', () => {
  it('says where charge came from, where it is, and what lies ahead', () => {
    const fan = { start: fixtureNow, stepS: 86_400, p10: [88, 60], p50: [89, 70], p90: [90, 80] };
    expect(plain(chargeCaption({ ...rowFixture(), fan }, reader))).toBe(
      'Charge went from 90 % to 89 % in seven days; tomorrow eight futures in ten lie between 60 % and 80 %.',
    );
    expect(plain(chargeCaption(rowFixture(), reader))).toBe(
      'Charge went from 90 % to 89 % in seven days; there is no outlook.',
    );
  });

  it('takes means over the days that were heard and counts the others', () => {
    const day = (harvestWh: number | null, loadWh: number | null) => ({
      dayStart: fixtureNow,
      harvestWh,
      loadWh,
      hoursHeard: 24,
    });
    expect(plain(balanceCaption([day(10, 20), day(30, 20), day(null, null)]))).toBe(
      'Harvest 20.0 Wh and load 20.0 Wh a day on the days heard; 1 day is missing.',
    );
    expect(balanceCaption([])).toBe('Nothing was heard in this time.');
  });

  it('gives the span, the last value and the longest silence of readings', () => {
    const point = (minutes: number, mean: number) => ({
      at: new Date(reader.nowMs + minutes * 60_000).toISOString(),
      mean,
      min: mean - 0.1,
      max: mean + 0.1,
      count: 1,
    });
    const readings = (points: ReadingsJson['points']): ReadingsJson => ({
      metric: 'batt_v',
      label: 'Battery voltage',
      unit: 'V',
      source: 'raw',
      stepS: 0,
      gapS: 120,
      points,
    });
    const caption = (points: ReadingsJson['points'], minutes: number): string =>
      readingsCaption(readings(points), {
        fromMs: reader.nowMs,
        toMs: reader.nowMs + minutes * 60_000,
      });
    expect(plain(caption([point(0, 12.5), point(1, 13), point(301, 12.8)], 302))).toBe(
      'Battery voltage ran from 12.40 V to 13.10 V, 12.80 V at the end; the longest silence was 5 h.',
    );
    expect(plain(caption([point(0, 12.5), point(1, 13)], 2))).toContain(', without a gap.');
    expect(caption([point(0, 12.5), point(1, 13)], 181)).toContain('the longest silence was 3 h');
    const many = { ...readings([{ ...point(0, 12.5), count: 720 }]), stepS: 21_600 };
    expect(plain(readingsCaption(many, { fromMs: reader.nowMs, toMs: reader.nowMs }))).toContain(
      ' 720 readings; of each 6 h the mean, the least and the greatest are drawn.',
    );
    expect(caption([], 2)).toBe('Nothing was heard in this time.');
  });
});
