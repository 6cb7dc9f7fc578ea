import { expect, it } from 'vitest';
import { sideBySide } from './side-by-side.ts';

const turns = (said: string[], alone: readonly number[]) => {
  let running = 0;
  return [0, 1, 2, 3, 4].map((i) => ({
    isAlone: alone.includes(i),
    async run() {
      running += 1;
      const beside = running;
      await new Promise((resolve) => setTimeout(resolve, 10));
      said.push(`${i} of ${Math.max(beside, running)}`);
      running -= 1;
    },
  }));
};

it('runs what waits in two lanes, and what measures by itself at the end', async () => {
  const said: string[] = [];
  await sideBySide(turns(said, [0, 3]), 2);
  expect(said.slice(0, 2).sort()).toEqual(['1 of 2', '2 of 2']);
  expect(said.slice(2)).toEqual(['4 of 1', '0 of 1', '3 of 1']);
});

it('runs everything in order in one lane', async () => {
  const said: string[] = [];
  await sideBySide(turns(said, []), 1);
  expect(said).toEqual(['0 of 1', '1 of 1', '2 of 1', '3 of 1', '4 of 1']);
});

it('does not hide a turn that throws', async () => {
  const run = () => Promise.reject(new Error('a dog bit the cable'));
  await expect(sideBySide([{ isAlone: false, run }], 2)).rejects.toThrow('a dog bit the cable');
});
