import { once } from 'node:events';
import { createServer, request, type RequestListener } from 'node:http';
import { connect, type AddressInfo } from 'node:net';
import { promisify } from 'node:util';
import { expect, it } from 'vitest';
import { closeDoor } from './close-door.ts';

async function openDoor(answer: RequestListener) {
  const server = createServer(answer).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  const close = promisify(server.close.bind(server));
  return { port, door: { server, close } };
}

it('does not wait for a connection on which nothing was ever asked', async () => {
  const { port, door } = await openDoor((_request, answer) => answer.end('here'));
  const silent = connect(port, '127.0.0.1').on('error', () => undefined);
  await once(silent, 'connect');
  const startedMs = performance.now();
  await closeDoor(door, 100);
  // Node itself would look after it in thirty seconds at the earliest.
  expect(performance.now() - startedMs).toBeLessThan(10_000);
  silent.destroy();
}, 20_000);

it('lets an answer that is under way end', async () => {
  const { port, door } = await openDoor((_request, answer) => {
    setTimeout(() => answer.end('whole'), 150);
  });
  const asked = request({ port, host: '127.0.0.1' }).end();
  const answered = once(asked, 'response');
  await once(door.server, 'request');
  const closing = closeDoor(door, 5000);
  const [answer] = (await answered) as [NodeJS.ReadableStream];
  let text = '';
  for await (const chunk of answer) text += String(chunk);
  expect(text).toBe('whole');
  await closing;
}, 20_000);
