import { describe, expect, it } from 'vitest';
import { faultOfPauseEnd, fieldTime, pauseEndAt, readPauseEnd } from './pause-end.ts';

// On the clock of whoever runs the test: the expected texts hold in every zone.
const now = new Date(2026, 10, 26, 22, 41).getTime();

describe('the end of a pause', () => {
  it('is a morning, also over the end of a month', () => {
    expect(fieldTime(pauseEndAt('morning', now))).toBe('2026-11-27T07:00');
    expect(fieldTime(pauseEndAt('three', now))).toBe('2026-11-29T07:00');
    expect(fieldTime(pauseEndAt('week', now))).toBe('2026-12-03T07:00');
  });

  it('is told what is wrong with it', () => {
    expect(faultOfPauseEnd('', now, 30)).toBe('missing');
    expect(faultOfPauseEnd('2026-11-26T22:40', now, 30)).toBe('past');
    expect(faultOfPauseEnd('2026-12-27T23:00', now, 30)).toBe('too-far');
    expect(faultOfPauseEnd('2026-11-27T07:00', now, 30)).toBeUndefined();
  });

  it('is refused when it is missing, past, or after the longest pause', () => {
    expect(readPauseEnd('', now, 30)).toBeUndefined();
    expect(readPauseEnd('2026-11-26T22:40', now, 30)).toBeUndefined();
    expect(readPauseEnd('2026-12-27T23:00', now, 30)).toBeUndefined();
    expect(readPauseEnd('2026-11-27T07:00', now, 30)?.getTime()).toBe(
      new Date(2026, 10, 27, 7).getTime(),
    );
  });
});
