import { expect, it } from 'vitest';
import { FairQueue } from './fair-queue.ts';

it('lets everybody have a turn, and keeps the order of each', () => {
  const queue = new FairQueue<string>();
  for (let i = 0; i < 1000; i += 1) queue.push('noisy', `noisy ${i}`);
  queue.push('quiet', 'quiet 0');
  queue.push('calm', 'calm 0');
  const first = queue.take(20);
  expect(first).toContain('quiet 0');
  expect(first).toContain('calm 0');
  const rest: string[] = [];
  while (queue.size > 0) rest.push(...queue.take(7));
  const noisy = [...first, ...rest].filter((item) => item.startsWith('noisy'));
  expect(noisy).toEqual(Array.from({ length: 1000 }, (_, i) => `noisy ${i}`));
  expect(queue.take(5)).toEqual([]);
});
