import type { VisitJson, VisitStepJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { dropSteps, queuedSteps, queueStep, withSteps } from './step-queue.ts';

function memory() {
  const kept = new Map<string, string>();
  return {
    kept,
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, value: string) => void kept.set(key, value),
    removeItem: (key: string) => void kept.delete(key),
  };
}
const tick = (id: string, item = 'first-1'): VisitStepJson => ({
  id,
  at: '2026-11-26T10:00:00.000Z',
  kind: 'tick',
  item,
});
const of = { owner: 'ash@greywater.example', visitId: 'v1' };
const visit = {
  state: 'planned',
  setOutAt: null,
  backAt: null,
  ticked: ['last-1'],
  notes: [],
} as unknown as VisitJson;

describe('steps on this device', () => {
  it('stay until they are recorded, and what is added meanwhile stays', () => {
    const store = memory();
    queueStep(store, of, tick('a'));
    queueStep(store, of, tick('b'));
    queueStep(store, of, tick('c'));
    expect(dropSteps(store, of, ['a', 'b']).map(({ id }) => id)).toEqual(['c']);
    expect(queuedSteps(store, of.owner, of.visitId)).toHaveLength(1);
    dropSteps(store, of, ['c']);
    expect(store.kept.size).toBe(0);
  });

  it('are those of one person and one visit', () => {
    const store = memory();
    queueStep(store, of, tick('a'));
    expect(queuedSteps(store, 'moss@greywater.example', of.visitId)).toEqual([]);
    expect(queuedSteps(store, of.owner, 'v2')).toEqual([]);
  });

  it('that were half written are none', () => {
    const store = memory();
    queueStep(store, of, tick('a'));
    const [key] = [...store.kept.keys()];
    for (const text of ['[{"id":', '{}', 'null']) {
      store.kept.set(key ?? '', text);
      expect(queuedSteps(store, of.owner, of.visitId)).toEqual([]);
    }
  });
});

describe('a visit with steps that are not recorded yet', () => {
  const at = '2026-11-26T09:00:00.000Z';
  const setOut: VisitStepJson = {
    id: 's',
    at,
    kind: 'set-out',
    backBy: '2026-11-26T14:00:00.000Z',
    companions: 'Moss',
    cautions: ['site'],
  };
  it('shows them as done, each once', () => {
    const note: VisitStepJson = { id: 'n', at, kind: 'note', text: 'mud' };
    const out = withSteps(visit, [
      setOut,
      tick('a'),
      note,
      note,
      { ...tick('u'), kind: 'untick', item: 'last-1' },
    ]);
    expect(out).toMatchObject({
      state: 'under-way',
      backBy: setOut.backBy,
      ticked: ['first-1'],
      notes: [{ at, text: 'mud' }],
    });
    const back: VisitStepJson = { id: 'b', at, kind: 'back', found: 'mud', deeds: ['looked'] };
    expect(withSteps(out, [back, setOut])).toMatchObject({ state: 'done', found: 'mud' });
  });

  it('is not called off by somebody at home when they have set out', () => {
    const off: VisitStepJson = { id: 'o', at, kind: 'call-off', why: 'snow' };
    expect(withSteps(visit, [off]).state).toBe('called-off');
    expect(withSteps(visit, [setOut, off]).state).toBe('under-way');
  });
});
