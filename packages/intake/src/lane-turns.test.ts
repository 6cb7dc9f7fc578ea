import { setImmediate as nextTurn } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { createLaneTurns } from './lane-turns.ts';

const watched = (turn: Promise<void>) => {
  const state = { gone: false };
  void turn.then(() => (state.gone = true));
  return state;
};

it('lets the past go at once while nothing fresh waits', async () => {
  const past = watched(createLaneTurns().backlogTurn());
  await nextTurn();
  expect(past.gone).toBe(true);
});

it('lets four fresh batches pass before one of the past, however many wait', async () => {
  const turns = createLaneTurns();
  turns.liveBegins();
  const past = watched(turns.backlogTurn());
  for (let passed = 1; passed <= 3; passed += 1) turns.livePasses();
  await nextTurn();
  expect(past.gone).toBe(false);
  turns.livePasses();
  await nextTurn();
  expect(past.gone).toBe(true);
});

it('lets the past go when the last fresh one is through', async () => {
  const turns = createLaneTurns();
  turns.liveBegins();
  turns.liveBegins();
  const past = watched(turns.backlogTurn());
  turns.liveEnds();
  await nextTurn();
  expect(past.gone).toBe(false);
  turns.liveEnds();
  await nextTurn();
  expect(past.gone).toBe(true);
});
