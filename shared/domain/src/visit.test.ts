import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { visitEventSentence } from './visit-event.ts';
import { isOnVisit, visitProgress, type VisitStep } from './visit.ts';

const HOUR = 3_600_000;
const setOut: VisitStep = {
  id: 'a',
  atMs: HOUR,
  kind: 'set-out',
  backByMs: 5 * HOUR,
  companions: 'Moss',
  cautions: ['site'],
};
const back: VisitStep = {
  id: 'z',
  atMs: 4 * HOUR,
  kind: 'back',
  found: 'mud',
  deeds: ['cleaned-panel'],
};

describe('what steps of a visit come to', () => {
  it('is a plan, then a trip, then something done', () => {
    expect(visitProgress([]).state).toBe('planned');
    expect(visitProgress([setOut])).toMatchObject({ state: 'under-way', backByMs: 5 * HOUR });
    expect(visitProgress([setOut, back])).toMatchObject({
      state: 'done',
      found: 'mud',
      deeds: ['cleaned-panel'],
      companions: 'Moss',
    });
  });

  it('keeps what is added to the report afterwards, by name and time, and tells the logbook', () => {
    const add: VisitStep = {
      id: 'zz',
      atMs: 30 * HOUR,
      kind: 'add',
      by: 'Ines Tarn',
      found: 'a chewed cable',
      deeds: ['mended-cable', 'cleaned-panel'],
    };
    const steps = [setOut, { ...back, found: '', deeds: [] }, add];
    expect(visitProgress(steps)).toMatchObject({
      state: 'done',
      backAtMs: 4 * HOUR,
      found: '',
      deeds: ['mended-cable', 'cleaned-panel'],
      added: [{ atMs: 30 * HOUR, by: 'Ines Tarn', found: 'a chewed cable' }],
    });
    expect(visitProgress([add]).state).toBe('planned');
    expect(visitEventSentence(add, 'Ash Fell', 'Europe/London')).toBe(
      'Ines Tarn added to the report of Ash Fell’s visit: mended a cable or connector and cleaned the panel. Found: a chewed cable',
    );
  });

  it('gives more time when more is asked for, and keeps the last word on a tick', () => {
    const steps: VisitStep[] = [
      setOut,
      { id: 'b', atMs: 2 * HOUR, kind: 'tick', item: 'first-1' },
      { id: 'c', atMs: 2 * HOUR + 1, kind: 'tick', item: 'last-1' },
      { id: 'd', atMs: 3 * HOUR, kind: 'untick', item: 'first-1' },
      { id: 'e', atMs: 3 * HOUR, kind: 'later', backByMs: 8 * HOUR },
    ];
    expect(visitProgress(steps)).toMatchObject({ backByMs: 8 * HOUR, ticked: ['last-1'] });
  });

  it('cannot be called off once somebody has set out', () => {
    const off: VisitStep = { id: 'o', atMs: 6 * HOUR, kind: 'call-off', why: 'snow' };
    expect(visitProgress([off])).toMatchObject({ state: 'called-off', calledOffWhy: 'snow' });
    expect(visitProgress([setOut, off]).state).toBe('under-way');
    expect(visitProgress([off, back]).state).toBe('done');
  });

  const step = fc.oneof(
    fc.record({
      kind: fc.constantFrom('tick' as const, 'untick' as const),
      item: fc.constantFrom('a', 'b', 'c'),
    }),
    fc.record({ kind: fc.constant('note' as const), text: fc.string() }),
    fc.record({ kind: fc.constant('later' as const), backByMs: fc.nat() }),
    fc.record({ kind: fc.constant('call-off' as const), why: fc.string() }),
    fc.constant({ kind: 'back' as const, found: '', deeds: [] }),
    fc.constant({ kind: 'set-out' as const, backByMs: HOUR, companions: '', cautions: [] }),
  );
  // What the design asks of everything that may be repeated: it comes to the same.
  it('is the same in whatever order, and however often, they come', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(step, fc.nat({ max: 5 }))),
        fc.array(fc.nat()),
        (given, dice) => {
          const steps = given.map(([one, atMs], i) => ({ ...one, id: `s${i}`, atMs }));
          const mixed = [...steps, ...steps.slice(0, dice.length)]
            .map((one, i) => ({ one, at: dice[i % Math.max(1, dice.length)] ?? 0 }))
            .sort((a, b) => a.at - b.at)
            .map(({ one }) => one);
          expect(visitProgress(mixed)).toEqual(visitProgress(steps));
        },
      ),
    );
  });
});

describe('somebody is there', () => {
  it('from setting out until back, and not for ever when they forget to say so', () => {
    const progress = visitProgress([setOut]);
    expect(isOnVisit(progress, HOUR - 1)).toBe(false);
    expect(isOnVisit(progress, HOUR)).toBe(true);
    expect(isOnVisit(progress, 17 * HOUR - 1)).toBe(true);
    expect(isOnVisit(progress, 17 * HOUR)).toBe(false);
    expect(isOnVisit(visitProgress([setOut, back]), 4 * HOUR)).toBe(false);
  });
});
