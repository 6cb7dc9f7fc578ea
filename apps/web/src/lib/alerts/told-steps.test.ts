import type { AlertPageJson } from '@duskline/contract';
import { expect, it } from 'vitest';
import { toldSteps } from './told-steps.ts';

type Step = AlertPageJson['history'][number];
const step = (kind: string, why: string, more: Partial<Step> = {}): Step => ({
  at: '2026-11-26T21:00:00Z',
  kind,
  state: 'new',
  priority: 'P2',
  by: null,
  why,
  ...more,
});
const told = (steps: readonly Step[]) => toldSteps(steps).map(({ why }) => why);

it('tells of figures written anew one after the other only the last', () => {
  const steps = [step('open', 'low'), step('update', '17 %'), step('update', '16 %')];
  expect(told([...steps, step('update', '15 %')])).toEqual(['low', '15 %']);
});

it('never leaves out what a person did, nor what was between', () => {
  const note = step('note', 'drove past', { by: 'Ash Fell' });
  expect(
    told([step('update', '17 %'), note, note, step('update', '16 %'), step('end', 'over')]),
  ).toEqual(['17 %', 'drove past', 'drove past', '16 %', 'over']);
});

it('tells a change of urgency', () => {
  const urgent = step('update', 'for today', { priority: 'P2' });
  expect(told([step('update', 'this week', { priority: 'P3' }), urgent])).toEqual([
    'this week',
    'for today',
  ]);
});
