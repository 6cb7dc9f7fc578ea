import { describe, expect, it } from 'vitest';
import { nextLight } from './next-light.ts';

const at = (text: string): number => Date.parse(`2026-11-${text}Z`);
// Sunrise and sunset of a moor at 54.5° north in late November, rounded (from memory).
const days = [
  { fromMs: at('27T08:03'), untilMs: at('27T15:51') },
  { fromMs: at('28T08:05'), untilMs: at('28T15:50') },
];

describe('the next light', () => {
  it.each([
    ['after sunset', '27T17:49', at('28T08:05')],
    ['before dawn', '28T05:00', at('28T08:05')],
    ['in full light', '27T11:00', undefined],
    ['when nothing is known of what comes', '28T18:00', undefined],
  ])('%s', (_when, now, light) => {
    expect(nextLight(days, at(now))).toBe(light);
  });

  it('is the next day’s where no more is left than is kept in hand', () => {
    const half = 30 * 60_000;
    expect(nextLight(days, at('27T15:20'), half)).toBeUndefined();
    expect(nextLight(days, at('27T15:30'), half)).toBe(at('28T08:05'));
  });
});
