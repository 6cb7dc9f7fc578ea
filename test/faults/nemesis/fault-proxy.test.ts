import { once } from 'node:events';
import { connect, createServer, type AddressInfo, type Server } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { startFaultProxy, type FaultProxy } from './fault-proxy.ts';

let echo: Server;
let proxy: FaultProxy;
beforeEach(async () => {
  echo = createServer((socket) => socket.on('error', () => undefined).pipe(socket)).listen(
    0,
    '127.0.0.1',
  );
  await once(echo, 'listening');
  proxy = await startFaultProxy((echo.address() as AddressInfo).port);
});
afterEach(async () => {
  await proxy.close();
  echo.close();
});
async function dial() {
  const socket = connect(proxy.port, '127.0.0.1');
  let heard = '';
  const errors: (string | undefined)[] = [];
  socket.on('data', (bytes: Buffer) => (heard += bytes.toString()));
  socket.on('error', (cause: { code?: string }) => errors.push(cause.code));
  await once(socket, 'connect');
  return { socket, heard: () => heard, errors };
}
async function until(holds: () => boolean): Promise<void> {
  for (let i = 0; i < 400 && !holds(); i++) await sleep(25);
  expect(holds()).toBe(true);
}

it('passes everything on, in order, also when it is slow', async () => {
  const line = await dial();
  proxy.delay(20, 0.3);
  for (let i = 0; i < 20; i++) line.socket.write(`${i} `);
  await until(() => line.heard().length === 50);
  expect(line.heard()).toBe(Array.from({ length: 20 }, (_, i) => `${i} `).join(''));
});

it('keeps a half-open line silent and tells nobody', async () => {
  const line = await dial();
  line.socket.write('a');
  await until(() => line.heard() === 'a');
  proxy.halfOpen(true);
  line.socket.write('b');
  await sleep(300);
  expect([line.heard(), line.socket.destroyed, line.errors]).toEqual(['a', false, []]);
});

it('resets lines, now and at the n-th piece', async () => {
  const first = await dial();
  first.socket.write('a');
  await until(() => first.heard() === 'a');
  proxy.reset();
  await until(() => first.socket.destroyed);
  expect(first.errors).toContain('ECONNRESET');
  const second = await dial();
  proxy.resetAtPiece(2);
  second.socket.write('a');
  await until(() => second.heard() === 'a');
  expect(proxy.hasReset()).toBe(false);
  second.socket.write('b');
  await until(() => second.socket.destroyed);
  expect([second.heard(), proxy.hasReset()]).toEqual(['a', true]);
});
