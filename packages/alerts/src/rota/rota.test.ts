import { accountId, HOUR_MS, MINUTE_MS, type Person, type Shift } from '@duskline/domain';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { callChain } from './call-chain.ts';
import { callMessage, LONGEST_MESSAGE } from './call-message.ts';
import { dutiesBetween, faultOfShift } from './duties.ts';
import { planCall } from './plan-call.ts';
import { afterWaking, isQuiet, nextWakingMs, wakingBetween } from './quiet-hours.ts';
import { rotaGaps } from './rota-gaps.ts';

const person = (id: string, role: Person['role'] = 'volunteer'): Person => ({
  id: accountId(id),
  name: id,
  email: `${id}@greywater.example`,
  role,
  phone: '',
  timeZone: 'Europe/London',
  quiet: { fromMinute: 22 * 60, untilMinute: 7 * 60 },
  groups: [],
  channels: [],
});
const weekly: Shift = {
  id: 'w',
  personId: accountId('wren'),
  start: '2026-10-05T09:00',
  durationMinutes: 7 * 24 * 60,
  timeZone: 'Europe/London',
  recurrence: 'FREQ=WEEKLY',
  exceptions: [],
  swaps: [],
};
const at = (text: string) => Date.parse(text);

describe('the rota', () => {
  it('keeps the hour on the clock over the change of the clocks', () => {
    // United Kingdom: summer time ends on 25 October 2026 at 01:00 UTC (from memory; Summer Time Order 2002: last Sunday).
    const duties = dutiesBetween([weekly], at('2026-10-19T12:00Z'), at('2026-10-27T12:00Z'));
    expect(
      duties.map(({ fromMs, untilMs }) => [
        new Date(fromMs).toISOString(),
        new Date(untilMs).toISOString(),
      ]),
    ).toEqual([
      ['2026-10-19T08:00:00.000Z', '2026-10-26T09:00:00.000Z'],
      ['2026-10-26T09:00:00.000Z', '2026-11-02T09:00:00.000Z'],
    ]);
  });

  it('does not lose a start that the clock skips', () => {
    const shift = {
      ...weekly,
      start: '2026-03-28T01:30',
      durationMinutes: 60,
      recurrence: 'FREQ=DAILY;COUNT=3',
    };
    expect(dutiesBetween([shift], at('2026-03-27T00:00Z'), at('2026-04-02T00:00Z'))).toHaveLength(
      3,
    );
  });

  it('says a gap where a day is left out, and none where somebody else takes it', () => {
    const range = { fromMs: at('2026-10-12T08:00Z'), toMs: at('2026-10-26T09:00Z') };
    expect(rotaGaps([weekly], [], range)).toEqual([]);
    const [gap, ...more] = rotaGaps([{ ...weekly, exceptions: ['2026-10-19T09:00'] }], [], range);
    expect(more).toEqual([]);
    expect(gap).toMatchObject({
      fromMs: at('2026-10-19T08:00Z'),
      untilMs: at('2026-10-26T09:00Z'),
    });
    expect(gap?.says).toContain('from Mon 19 Oct 09:00 UTC+1 to Mon 26 Oct 09:00 UTC, 7 days');
    expect(rotaGaps([], [], range)).toEqual([]);
    const swapped = { ...weekly, swaps: [{ start: '2026-10-19T09:00', to: accountId('ash') }] };
    expect(rotaGaps([swapped], [], range)).toEqual([]);
    const [duty] = dutiesBetween([swapped], at('2026-10-20T00:00Z'), at('2026-10-21T00:00Z'));
    expect(duty).toMatchObject({ personId: 'ash', insteadOf: 'wren' });
  });

  it('covers every instant of an unbroken weekly rota, and gaps and duties fill every stretch (property)', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 700 }),
        fc.integer({ min: 1, max: 400 }),
        fc.integer({ min: 1, max: 7 * 24 }),
        (startHours, lengthHours, shiftHours) => {
          const fromMs = at('2026-10-06T00:00Z') + startHours * HOUR_MS;
          const toMs = fromMs + lengthHours * HOUR_MS;
          const shift = { ...weekly, durationMinutes: shiftHours * 60 };
          const gaps = rotaGaps([shift], [], { fromMs, toMs });
          const covered = dutiesBetween([shift], fromMs, toMs).map(
            (duty) => Math.min(duty.untilMs, toMs) - Math.max(duty.fromMs, fromMs),
          );
          const sum = [...covered, ...gaps.map((gap) => gap.untilMs - gap.fromMs)].reduce(
            (a, b) => a + b,
            0,
          );
          expect(sum).toBe(toMs - fromMs);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('refuses recurrences that are no shifts', () => {
    expect(faultOfShift(weekly)).toBeUndefined();
    expect(faultOfShift({ ...weekly, recurrence: 'FREQ=SECONDLY' })).toContain('daily');
    expect(faultOfShift({ ...weekly, start: '2026-02-30T09:00' })).toContain('start');
  });
});

describe('quiet hours', () => {
  it('run over midnight in the zone of the person', () => {
    const wren = person('wren');
    expect(isQuiet(wren, at('2026-07-01T20:59Z'))).toBe(false);
    expect(isQuiet(wren, at('2026-07-01T21:00Z'))).toBe(true);
    expect(nextWakingMs(wren, at('2026-07-01T21:00Z'))).toBe(at('2026-07-02T06:00Z'));
    // The night in which the clocks go back has ten quiet hours.
    expect(nextWakingMs(wren, at('2026-10-24T21:00Z'))).toBe(at('2026-10-25T07:00Z'));
    expect(wakingBetween(wren, at('2026-07-01T20:00Z'), at('2026-07-02T08:00Z'))).toBe(3 * HOUR_MS);
  });

  it('count waking time that adds up, and find its end again (property)', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 400 * 24 * 60 }),
        fc.integer({ min: 1, max: 2000 }),
        fc.integer({ min: 0, max: 1439 }),
        fc.integer({ min: 1, max: 16 * 60 }),
        (startMinute, minutes, fromMinute, quietMinutes) => {
          const untilMinute = (fromMinute + quietMinutes) % 1440;
          const wren = { ...person('wren'), quiet: { fromMinute, untilMinute } };
          const fromMs = at('2026-01-01T00:00Z') + startMinute * MINUTE_MS;
          const endMs = afterWaking(wren, fromMs, minutes * MINUTE_MS);
          expect(wakingBetween(wren, fromMs, endMs)).toBe(minutes * MINUTE_MS);
        },
      ),
      { numRuns: 25 },
    );
  });
});

describe('an escalation', () => {
  const nowMs = at('2026-10-20T23:30Z');
  const facts = {
    people: [person('wren'), person('ash'), person('moss', 'coordinator'), person('kit', 'keeper')],
    shifts: [
      { ...weekly, recurrence: 'FREQ=WEEKLY;INTERVAL=2' },
      {
        ...weekly,
        id: 'a',
        personId: accountId('ash'),
        start: '2026-10-12T09:00',
        recurrence: 'FREQ=WEEKLY;INTERVAL=2',
      },
    ],
    groups: [],
  };

  it('goes from who is on call to the next on the rota to the coordinator, each once', () => {
    const chain = callChain(facts, { siteId: 'rushy-sluice' as never, atMs: nowMs });
    expect(chain.map(({ name }) => name)).toEqual(['wren', 'ash', 'moss']);
    const fleet = callChain(facts, { atMs: nowMs });
    expect(fleet[0]?.name).toBe('moss');
    const handed = callChain(facts, {
      siteId: 'x' as never,
      handedTo: accountId('kit'),
      atMs: nowMs,
    });
    expect(handed[0]?.name).toBe('kit');
  });

  it('wakes for P1 only; P2 waits for the morning, P3 for the letter', () => {
    const chain = callChain(facts, { siteId: 'x' as never, atMs: nowMs });
    const plan = (priority: 'P1' | 'P2' | 'P3', told: string[] = []) =>
      planCall(chain, told.map(accountId), { priority, nowMs });
    expect(plan('P1')).toMatchObject({
      to: [{ person: { name: 'wren' }, atMs: nowMs }],
      nextCallAtMs: nowMs + 5 * MINUTE_MS,
    });
    expect(plan('P2').to[0]?.atMs).toBe(at('2026-10-21T06:00Z'));
    expect(plan('P2').nextCallAtMs).toBe(at('2026-10-21T08:00Z'));
    expect(plan('P3')).toEqual({ to: [] });
    expect(plan('P1', ['wren', 'ash'])).toMatchObject({ to: [{ person: { name: 'moss' } }] });
    expect(plan('P1', ['wren', 'ash', 'moss'])).toEqual({ to: [] });
  });
});

describe('a message', () => {
  it('is never longer than 240 characters and always says who has it (property)', () => {
    const text = fc.string({ unit: 'grapheme', maxLength: 400 });
    fc.assert(
      fc.property(text, text, text, text, (siteName, sentence, byWhen, todo) => {
        const alert = {
          priority: 'P2',
          text: { sentence, byWhen, todo, figures: '', bring: '', cautions: [] },
        } as const;
        const message = callMessage(alert, siteName);
        expect(message.length).toBeLessThanOrEqual(LONGEST_MESSAGE);
        expect(message.endsWith('Nobody has this yet.')).toBe(true);
        expect(message).not.toMatch(/[\r\n]/);
      }),
    );
  });
});
