import { describe, expect, it } from 'vitest';
import { tripLight } from './trip-light.ts';

const timeZone = 'Europe/London';
// A moor at 54.5° north in late November, rounded (from memory). The list may begin with a day that is over.
const sheet = {
  timeZone,
  daylight: [
    { from: '2026-11-27T08:03:00Z', until: '2026-11-27T15:51:00Z' },
    { from: '2026-11-28T08:05:00Z', until: '2026-11-28T15:50:00Z' },
  ],
};
const at = (text: string): number => Date.parse(`2026-11-${text}Z`);

describe('setting out', () => {
  it('in the dark says so, and when it gets light; no sunset that is past is a time to be back by', () => {
    const { says, isDark, backByMs } = tripLight(sheet, at('27T17:00'), at('27T18:04'));
    expect(isDark).toBe(true);
    expect(says).toBe(
      'It is dark now; it gets light Sat 28 Nov 08:05 UTC. In that light, be back by Sat 28 Nov 15:20 UTC. Whoever goes in the dark all the same takes a lamp, and better not alone.',
    );
    // Four hours after setting out: nobody is looked for late because the day is far.
    expect(backByMs).toBe(at('27T22:00'));
  });

  it('before dawn, planned for then, says it of that time', () => {
    const { says, isDark } = tripLight(sheet, at('28T06:00'), at('27T18:04'));
    expect(isDark).toBe(true);
    expect(says).toMatch(/^It is dark at that time; it gets light Sat 28 Nov 08:05 UTC\./);
  });

  it('in the light speaks of its sunset, and is back half an hour before', () => {
    const noon = tripLight(sheet, at('28T09:00'), at('28T09:00'));
    expect(noon).toMatchObject({ isDark: false, backByMs: at('28T13:00') });
    expect(noon.says).toBe(
      'The sun sets at 15:50 UTC: be back by 15:20 UTC, half an hour before it.',
    );
    expect(tripLight(sheet, at('28T15:00'), at('28T15:00')).says).toContain(
      'too little light is left',
    );
  });

  it('says nothing where nothing is known of the light', () => {
    expect(tripLight({ timeZone, daylight: [] }, at('27T18:00'), at('27T18:00')).says).toBe('');
  });
});
