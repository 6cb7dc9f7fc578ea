import type { NodeName, Packet } from '@duskline/domain';
import { beforeEach, expect, it } from 'vitest';
import type { Rejected } from './rejected.ts';
import { createSetAside, type KeepAside } from './set-aside.ts';

const bad = (text: string, node = 'rushy-sluice'): Rejected => ({
  packet: { topic: 'x', payload: Buffer.from(text), receivedAtMs: 0 } satisfies Packet,
  node: node as NodeName,
  fault: { code: 'json-malformed', reason: 'It is bad.' },
});
const textOf = ({ packet }: Rejected) => Buffer.from(packet.payload).toString();

let groups: string[][];
let running: number;
let most: number;
let failure: ((texts: readonly string[]) => Error | undefined) | undefined;
const keep: KeepAside = async (rejected) => {
  const texts = rejected.map(textOf);
  groups.push(texts);
  most = Math.max(most, ++running);
  await new Promise((resolve) => setTimeout(resolve, 2));
  running -= 1;
  const error = failure?.(texts);
  if (error !== undefined) throw error;
  return rejected.map((one) => ({ boot: 1, seq: Number(textOf(one)) }));
};
beforeEach(() => {
  [groups, running, most, failure] = [[], 0, 0, undefined];
});
const sqlError = (code: string) => Object.assign(new Error(code), { code });

it('keeps what came meanwhile together, in its order, and answers each with its own place', async () => {
  const setAside = createSetAside(keep);
  const places = await Promise.all(['1', '2', '3', '4'].map((text) => setAside(bad(text))));
  expect(groups).toEqual([['1'], ['2', '3', '4']]);
  expect(places.map((place) => place?.seq)).toEqual([1, 2, 3, 4]);
});

it('never mixes nodes, and works for two of them at once', async () => {
  const setAside = createSetAside(keep);
  const nodes = ['a', 'b', 'c'];
  await Promise.all(
    nodes.flatMap((node, i) => [setAside(bad(`${i}1`, node)), setAside(bad(`${i}2`, node))]),
  );
  expect(groups.map((texts) => new Set(texts.map(([node]) => node)).size)).toEqual(
    groups.map(() => 1),
  );
  expect(most).toBe(2);
});

it('does not let a storm of one node keep another waiting for the end of it', async () => {
  const setAside = createSetAside(keep);
  const order: string[] = [];
  const send = (text: string, node: string) =>
    setAside(bad(text, node)).then(() => order.push(node));
  const storm = Array.from({ length: 2000 }, (_, i) => send(String(i), 'storm'));
  const second = Array.from({ length: 2000 }, (_, i) => send(String(i), 'second'));
  await send('1', 'small');
  expect(order.length).toBeLessThan(1000);
  await Promise.all([...storm, ...second]);
  expect(Math.max(...groups.map(({ length }) => length))).toBeLessThanOrEqual(250);
});

it('tries each by itself when one is what the store chokes on', async () => {
  failure = (texts) => (texts.includes('3') ? sqlError('22021') : undefined);
  const setAside = createSetAside(keep);
  const outcomes = await Promise.allSettled(
    ['1', '2', '3', '4'].map((text) => setAside(bad(text))),
  );
  expect(outcomes.map(({ status }) => status)).toEqual([
    'fulfilled',
    'fulfilled',
    'rejected',
    'fulfilled',
  ]);
});

it('hands all of them back at once when the database is away', async () => {
  failure = () => sqlError('57P03');
  const setAside = createSetAside(keep);
  const outcomes = await Promise.allSettled(['1', '2', '3'].map((text) => setAside(bad(text))));
  expect(outcomes.every(({ status }) => status === 'rejected')).toBe(true);
  expect(groups).toHaveLength(2);
});
