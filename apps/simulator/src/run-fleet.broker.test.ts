import { createServer, type Server } from 'node:http';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { startEmbeddedBroker, type EmbeddedBroker } from '@duskline/broker';
import { DAY_MS, type AcceptedMessage, type NodeName, type Packet } from '@duskline/domain';
import {
  decodeMessage,
  encodeAck,
  encodeSettingsRequest,
  resolveMessage,
  topicFor,
} from '@duskline/wire';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { FleetMemory } from './fleet-file.ts';
import { HISTORY_STEP_MS } from './publish-node.ts';
import { runFleet, type FleetOptions, type RunningFleet } from './run-fleet.ts';

// The real broker and real MQTT; an API of ours that keeps what it is told; in place of the store a ledger in memory that
// acknowledges as the design says: the number up to which there is no gap.

let folder: string;
let broker: EmbeddedBroker;
let api: Server;
let apiUrl: string;
let secrets: Map<string, string>;
/** When each node was put up, by its own word. */
let putUp: Map<string, string | undefined>;
let asked: string[];
/** Fails the API call of that number, after it was carried out. */
let breakAt: number;
let messages: AcceptedMessage[];
let seen: Map<string, Set<number>>;
let acked: Map<string, number>;
let port: number;
let fleets: RunningFleet[];
let deaf: boolean;

async function receive(packet: Packet): Promise<void> {
  await sleep(1);
  if (deaf) throw new Error('the store is away');
  const decoded = decodeMessage(packet, { inflate: () => ({ ok: false, fault: 'corrupt' }) });
  const resolved = decoded.ok ? resolveMessage(decoded.value, packet.receivedAtMs) : decoded;
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  const { node, place } = resolved.value;
  if (place === undefined) return void messages.push(resolved.value);
  const key = `${node} ${place.boot}`;
  const ofBoot = seen.get(key) ?? new Set<number>();
  seen.set(key, ofBoot);
  if (!ofBoot.has(place.seq)) messages.push(resolved.value);
  ofBoot.add(place.seq);
  let seq = acked.get(key) ?? 0;
  while (ofBoot.has(seq + 1)) seq += 1;
  acked.set(key, seq);
  if (seq > 0) broker.publishAck(node, encodeAck({ boot: place.boot, seq }));
}

async function openBroker(): Promise<void> {
  broker = await startEmbeddedBroker({
    port,
    host: '127.0.0.1',
    verifySecret: async (name, secret) => secrets.get(name) === Buffer.from(secret).toString(),
    receive,
    log: { info: () => undefined, warn: () => undefined, error: () => undefined },
  });
  port = broker.port;
}

/** Sites and nodes as Duskline's API answers: 201, or 409 for what is there; a secret is shown once. */
function openApi(): Server {
  const sites = new Set<string>();
  return createServer((request, response) => {
    const path = request.url ?? '';
    let body = '';
    request.on('data', (bytes: Buffer) => (body += bytes.toString()));
    request.on('end', () => {
      asked.push(path);
      const answer = (status: number, json: object) => {
        if (asked.length === breakAt) return response.destroy();
        response
          .writeHead(status, { 'content-type': 'application/json' })
          .end(JSON.stringify(json));
      };
      if (request.headers.authorization !== 'Bearer the-token') return answer(401, {});
      if (path === '/api/v1/sites') {
        const { id } = JSON.parse(body) as { id: string };
        if (sites.has(id)) return answer(409, {});
        sites.add(id);
        return answer(201, { id });
      }
      const renewed = /^\/api\/v1\/nodes\/(.+)\/secret$/.exec(path)?.[1];
      const made =
        renewed === undefined
          ? (JSON.parse(body) as { name: string; commissionedAt?: string })
          : undefined;
      const name = renewed ?? made?.name ?? '';
      if (made !== undefined && secrets.has(name)) return answer(409, {});
      if (made !== undefined) putUp.set(name, made.commissionedAt);
      secrets.set(name, `secret ${secrets.size} of ${name}`);
      return answer(renewed === undefined ? 201 : 200, { node: name, secret: secrets.get(name) });
    });
  });
}

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-fleet-'));
  [secrets, seen, acked, putUp] = [new Map(), new Map(), new Map(), new Map()];
  [asked, messages, fleets, port, breakAt, deaf] = [[], [], [], 0, -1, false];
  await openBroker();
  api = openApi();
  await new Promise<void>((resolve) => api.listen(0, '127.0.0.1', resolve));
  apiUrl = `http://127.0.0.1:${(api.address() as AddressInfo).port}`;
});
afterEach(async () => {
  await Promise.all(fleets.map((running) => running.stop()));
  await broker.close();
  api.closeAllConnections();
  await new Promise((resolve) => api.close(resolve));
  rmSync(folder, { recursive: true });
});

const memoryPath = () => join(folder, 'fleet.json');
const memory = () => JSON.parse(readFileSync(memoryPath(), 'utf8')) as FleetMemory;
async function run(over: Partial<FleetOptions> = {}): Promise<RunningFleet> {
  const running = await runFleet({
    door: { url: apiUrl, token: 'the-token' },
    mqttUrl: `mqtt://127.0.0.1:${port}`,
    memoryPath: memoryPath(),
    historyDays: 5,
    liveStepMs: 30_000,
    siteCount: 3,
    seed: 20_261,
    say: () => undefined,
    ...over,
  });
  fleets.push(running);
  return running;
}
async function until(holds: () => boolean, withinMs = 15_000): Promise<void> {
  const untilMs = Date.now() + withinMs;
  while (!holds()) {
    if (Date.now() > untilMs) throw new Error('it did not come about');
    await sleep(20);
  }
}
const nodes = ['rushy-sluice-1', 'sallow-bridge-1', 'nether-reeds-1'] as NodeName[];
const of = (node: NodeName) => messages.filter((message) => message.node === node);
const times = (node: NodeName) =>
  of(node).flatMap(({ samples }) => samples.map((s) => s.observedAtMs));
const live = () => messages.filter(({ lane, samples }) => lane === 'live' && samples.length > 0);

/** Every number that arrived is acknowledged, and there is none missing before it. */
function expectNoGaps(): void {
  expect(seen.size).toBeGreaterThan(0);
  for (const [key, seqs] of seen) {
    expect(Math.max(...seqs)).toBe(seqs.size);
    expect(acked.get(key)).toBe(seqs.size);
  }
}

describe('the pretend fleet', () => {
  it('puts itself up, tells five days of its past, and has all of it acknowledged', async () => {
    const startedAtMs = Date.now();
    const running = await run();
    expect(asked).toHaveLength(8);
    expect(running.bench.secret).toBe(secrets.get('bench-1'));
    expectNoGaps();
    for (const node of nodes) {
      const told = times(node);
      expect(new Set(told).size).toBe(told.length);
      expect(Math.max(...told)).toBeGreaterThan(startedAtMs - HISTORY_STEP_MS);
      // It stood there when it saw what it tells: else its past would be of no place.
      const putUpMs = Date.parse(putUp.get(node) ?? '');
      expect(putUpMs).toBeLessThanOrEqual(Math.min(...told));
      expect(putUpMs).toBeGreaterThan(Math.min(...told) - 2 * HISTORY_STEP_MS);
    }
    expect(Date.parse(putUp.get('bench-1') ?? '')).toBeGreaterThanOrEqual(startedAtMs);
    // Nothing was dark in these five days but perhaps the node whose panel fails, so every quarter of an hour is there; and one more
    // where one has ended since it began to tell.
    const quarters = Math.floor((5 * DAY_MS) / HISTORY_STEP_MS);
    for (const node of nodes.slice(1)) {
      const told = times(node).toSorted((a, b) => a - b);
      const steps = new Set(told.slice(1).map((atMs, i) => atMs - (told[i] ?? 0)));
      expect([...steps]).toEqual([HISTORY_STEP_MS]);
      expect([quarters, quarters + 1]).toContain(told.length);
    }
  });

  it('lives on at once, each node at a moment of its own, then at the usual gap', async () => {
    await run({ liveStepMs: 1000 });
    const doneAtMs = Date.now();
    await until(() => new Set(live().map(({ node }) => node)).size === 3);
    expect(Date.now() - doneAtMs).toBeLessThan(2500);
    await until(() => live().length >= 12);
    for (const node of nodes) {
      const at = live().flatMap((m) =>
        m.node === node ? m.samples.map((s) => s.observedAtMs) : [],
      );
      for (const [i, atMs] of at.entries())
        if (i > 0) expect(atMs - (at[i - 1] ?? 0)).toBeLessThan(1600);
    }
    const firsts = nodes.map((node) => live().find((m) => m.node === node)?.receivedAtMs ?? 0);
    expect(Math.max(...firsts) - Math.min(...firsts)).toBeGreaterThan(200);
  });

  it('after a stop and a start goes on where it was: no time twice, no number twice', async () => {
    const first = await run({ liveStepMs: 300 });
    await until(() => live().length > 8);
    await first.stop();
    const [toldBefore, numbersBefore] = [nodes.map(times), new Set(seen.keys())];
    for (const [i, node] of nodes.entries()) {
      const { state } = memory().nodes[node.slice(0, -2)] ?? {};
      expect(state?.atMs).toBe(Math.max(...(toldBefore[i] ?? [])));
    }
    await run({ liveStepMs: 300 });
    await until(() => nodes.every((node, i) => times(node).length > (toldBefore[i]?.length ?? 0)));
    expect(asked).toHaveLength(8);
    expectNoGaps();
    for (const node of nodes) expect(new Set(times(node)).size).toBe(times(node).length);
    const fresh = [...seen.keys()].filter((key) => !numbersBefore.has(key));
    expect(fresh).toHaveLength(3);
  });

  it('keeps what the store does not take, through a broker that goes away, and catches up', async () => {
    await run({ liveStepMs: 300 });
    deaf = true;
    await sleep(1000);
    await broker.close();
    await sleep(600);
    deaf = false;
    await openBroker();
    const openedAtMs = Date.now();
    await until(() => nodes.every((node) => Math.max(...times(node)) > openedAtMs + 500), 30_000);
    for (const running of fleets) await running.stop();
    expectNoGaps();
    for (const node of nodes) {
      const told = [...times(node)].sort((a, b) => a - b);
      expect(new Set(told).size).toBe(told.length);
      const fresh = told.filter((atMs) => atMs > openedAtMs - 2500);
      for (const [i, atMs] of fresh.entries())
        if (i > 0) expect(atMs - (fresh[i - 1] ?? 0)).toBeLessThan(900);
    }
  });

  it.each([2, 3, 4])(
    'goes on putting itself up when it was cut off at the API call %i',
    async (call) => {
      breakAt = call;
      await expect(run()).rejects.toThrow();
      breakAt = -1;
      const running = await run();
      expect(Object.keys(memory().nodes).sort()).toEqual(
        ['bench', 'nether-reeds', 'rushy-sluice', 'sallow-bridge'].sort(),
      );
      for (const { node, secret } of Object.values(memory().nodes))
        expect(secrets.get(node)).toBe(secret);
      expectNoGaps();
      expect(running.bench.secret).toBe(secrets.get('bench-1'));
    },
  );

  it('answers a request of settings, keeps to it, and remembers it', async () => {
    const rushy = nodes[0] as NodeName;
    const answers = () => of(rushy).flatMap(({ settings }) => (settings ? [settings] : []));
    const first = await run({ liveStepMs: 300, siteCount: 1 });
    broker.publish(
      topicFor(rushy, 'settings'),
      encodeSettingsRequest({ id: 'slow', logEveryS: 2 }),
      { retain: true },
    );
    await until(() => answers().some(({ id, logEveryS }) => id === 'slow' && logEveryS === 2));
    const askedAtMs = Date.now();
    await until(() => times(rushy).filter((atMs) => atMs > askedAtMs).length >= 3);
    const fresh = times(rushy).filter((atMs) => atMs > askedAtMs);
    for (const [i, atMs] of fresh.entries())
      if (i > 0) expect(atMs - (fresh[i - 1] ?? 0)).toBeGreaterThan(1400);
    await first.stop();
    expect(memory().nodes['rushy-sluice']?.settings).toEqual({ id: 'slow', logEveryS: 2 });
    expectNoGaps();
  });

  it('takes in sites that are added later', async () => {
    await (await run({ siteCount: 2 })).stop();
    expect(times(nodes[2] as NodeName)).toEqual([]);
    await run({ siteCount: 3 });
    expect(times(nodes[2] as NodeName).length).toBeGreaterThan(400);
    expectNoGaps();
  });
});
