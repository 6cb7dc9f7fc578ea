import { describe, expect, it } from 'vitest';
import { parseRange, rangeBounds, siteHref } from './reading-range.ts';

describe('the range of readings', () => {
  it('ends on the next whole minute and is as long as it says', () => {
    const now = Date.parse('2026-11-25T07:02:20Z');
    const { fromMs, toMs } = rangeBounds('7d', now);
    expect(new Date(toMs).toISOString()).toBe('2026-11-25T07:03:00.000Z');
    expect(new Date(fromMs).toISOString()).toBe('2026-11-18T07:03:00.000Z');
    expect(parseRange('1y')).toBe('1y');
    expect(parseRange('forever')).toBe('7d');
  });

  it('changes one part of the address and keeps the rest', () => {
    const params = new URLSearchParams('metric=panel_w&range=1d');
    expect(siteHref('tarn-gill', params, { range: '1y' })).toBe(
      '/sites/tarn-gill?metric=panel_w&range=1y',
    );
  });
});
