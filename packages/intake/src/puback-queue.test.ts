import { setImmediate as nextTurn } from 'node:timers/promises';
import { expect, it } from 'vitest';
import { createPubackQueue } from './puback-queue.ts';

it('acknowledges in the order of coming, many in one write, as MQTT 3.1.1 §3.4 lays a PUBACK out', async () => {
  const writes: string[] = [];
  const queue = createPubackQueue((bytes) => writes.push(Buffer.from(bytes).toString('hex')));
  const [first, second, third] = [1, 0x1234, 0xffff].map((id) => queue.expect(id));
  third?.();
  second?.();
  await nextTurn();
  expect(writes).toEqual([]);
  first?.();
  await nextTurn();
  expect(writes).toEqual(['40020001' + '40021234' + '4002ffff']);
});
