import { HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { ForecastInputs } from './forecast-inputs.ts';
import { forecastNode } from './forecast-node.ts';
import { advanceLearnt } from './learn/advance-learnt.ts';
import { fromStored, type StoredInputs, storedInputs } from './stored-inputs.ts';
import { exactly, moor, moorPower } from './testing.ts';
import { live } from './testing-life.ts';

const history = live({ loadW: () => 1.3 });
const nowMs = history.startMs + history.panelW.length * HOUR_MS - 90 * 60_000;
const inputs: ForecastInputs = {
  nowMs,
  seed: 42,
  position: moor,
  power: moorPower,
  history,
  charge: exactly(0.55, nowMs),
  learnt: advanceLearnt(undefined, { history, position: moor, power: moorPower, nowMs }),
  paths: 80,
};

describe('stored inputs', () => {
  it('give the same outlook to the last bit, after a way through text', () => {
    const text = JSON.stringify(storedInputs(inputs));
    const again = fromStored(JSON.parse(text) as StoredInputs);
    expect(forecastNode(again)).toEqual(forecastNode(inputs));
  });

  it('hold every input there is, a missing charge and a dark spell too', () => {
    const dark = { sinceMs: nowMs - 30 * HOUR_MS, chargeRatio: 0.1 };
    const asleep = { ...inputs, charge: undefined, dark };
    const again = fromStored(JSON.parse(JSON.stringify(storedInputs(asleep))) as StoredInputs);
    expect(again.charge).toBeUndefined();
    expect(forecastNode(again)).toEqual(forecastNode(asleep));
    expect(new Set(Object.keys(storedInputs(inputs).inputs))).toEqual(new Set(Object.keys(inputs)));
  });

  it('leave out what was observed after now', () => {
    expect(storedInputs(inputs).inputs.history.panelW.length).toBe(history.panelW.length - 1);
  });
});
