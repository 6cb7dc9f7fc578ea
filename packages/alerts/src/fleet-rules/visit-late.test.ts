import { MINUTE_MS, type Alert } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { evaluateFleetRules } from '../evaluate-fleet-rules.ts';
import { startMs } from '../testing.ts';
import { visitLate } from './visit-late.ts';

const out = {
  subject: 'visit:7',
  who: 'Ash Fell',
  phone: '+44 1632 960001',
  companions: '',
  siteNames: ['Tarn Gill', 'Long Moss'],
  setOutAtMs: startMs - 300 * MINUTE_MS,
  backByMs: startMs,
  timeZone: 'Europe/London',
};
const look = (minutes: number, visitsOut: readonly (typeof out)[], open: readonly Alert[] = []) =>
  evaluateFleetRules(
    [visitLate],
    {
      nowMs: startMs + minutes * MINUTE_MS,
      nodes: [],
      server: { startedAtMs: 0 },
      untaken: [],
      visitsOut,
    },
    { open, memory: [] },
  ).changes;
const open: readonly Alert[] = [
  {
    id: '0-1',
    rule: 'visit-late',
    subject: 'visit:7',
    priority: 'P1',
    state: 'new',
    text: {},
  } as never,
];

describe('somebody who is not back', () => {
  // A quarter of an hour's grace: project choice, a setting.
  it('is looked for a quarter of an hour after the time they gave, day or night, in one alert for the round', () => {
    expect(look(-60, [out])).toEqual([]);
    expect(look(14, [out])).toEqual([]);
    const changes = look(15, [out]);
    expect(changes).toMatchObject([{ kind: 'open', priority: 'P1', subject: 'visit:7' }]);
    const [change] = changes;
    if (change?.kind !== 'open') throw new Error('nothing was opened');
    expect(change.text.figures).toContain('Alone');
    expect(change.text.todo).toContain('+44 1632 960001');
    expect(change.text.todo).toContain('no emergency service');
  });

  it('is no longer looked for once back, or given more time', () => {
    expect(look(20, [], open)).toMatchObject([{ kind: 'end', id: '0-1' }]);
    expect(look(20, [{ ...out, backByMs: startMs + 60 * MINUTE_MS }], open)).toMatchObject([
      { kind: 'end', id: '0-1' },
    ]);
  });
});
