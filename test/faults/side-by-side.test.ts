import { setImmediate as aWhile } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { sideBySide, type Turn } from './side-by-side.ts';

/** Turns that run until they are let go, and what has happened so far. */
function heldTurns(places: readonly Turn['place'][]) {
  const begun: number[] = [];
  const running = new Map<number, () => void>();
  const turns = places.map((place, i): Turn => ({
    place,
    run: () =>
      new Promise<void>((resolve) => {
        begun.push(i);
        running.set(i, () => {
          running.delete(i);
          resolve();
        });
      }),
  }));
  return {
    turns,
    begun,
    running: () => [...running.keys()].sort(),
    async end(i: number) {
      const stop = running.get(i);
      if (stop === undefined) throw new Error(`${i} does not run`);
      stop();
      await aWhile();
    },
  };
}

it('runs two at once, the next when one has ended', async () => {
  const held = heldTurns(['any', 'any', 'any']);
  const over = sideBySide(held.turns, 2);
  expect(held.running()).toEqual([0, 1]);
  await held.end(1);
  expect(held.running()).toEqual([0, 2]);
  await held.end(0);
  await held.end(2);
  await over;
});

it('runs what measures by itself, when all others have ended', async () => {
  const held = heldTurns(['alone', 'any', 'any', 'alone']);
  const over = sideBySide(held.turns, 2);
  expect(held.running()).toEqual([1, 2]);
  await held.end(2);
  expect(held.running()).toEqual([1]);
  await held.end(1);
  expect(held.running()).toEqual([0]);
  await held.end(0);
  expect(held.running()).toEqual([3]);
  await held.end(3);
  await over;
});

it('runs what mostly waits in two lanes beside the others', async () => {
  const held = heldTurns(['any', 'waits', 'any', 'waits', 'any', 'waits']);
  const over = sideBySide(held.turns, 2);
  expect(held.running()).toEqual([0, 1, 2, 3]);
  await held.end(1);
  expect(held.running()).toEqual([0, 2, 3, 5]);
  await held.end(3);
  await held.end(5);
  await held.end(0);
  await held.end(2);
  expect(held.running()).toEqual([4]);
  await held.end(4);
  await over;
});

it('runs what wants calm one after the other, beside nothing but what waits', async () => {
  const held = heldTurns(['calm', 'any', 'waits', 'calm', 'any', 'alone']);
  const over = sideBySide(held.turns, 2);
  expect(held.running()).toEqual([1, 2, 4]);
  await held.end(1);
  expect(held.running()).toEqual([2, 4]);
  await held.end(4);
  expect(held.running()).toEqual([0, 2]);
  await held.end(0);
  expect(held.running()).toEqual([2, 3]);
  await held.end(3);
  expect(held.running()).toEqual([2]);
  await held.end(2);
  expect(held.running()).toEqual([5]);
  await held.end(5);
  await over;
});

it('runs everything in order in one lane', async () => {
  const held = heldTurns(['any', 'waits', 'any']);
  const over = sideBySide(held.turns, 1);
  for (const i of [0, 1, 2]) {
    expect(held.running()).toEqual([i]);
    await held.end(i);
  }
  await over;
  expect(held.begun).toEqual([0, 1, 2]);
});

it('does not hide a turn that throws', async () => {
  const run = () => Promise.reject(new Error('a dog bit the cable'));
  await expect(sideBySide([{ place: 'any', run }], 2)).rejects.toThrow('a dog bit the cable');
});
