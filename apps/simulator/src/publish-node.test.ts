import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type MessagePlace,
  type NodeName,
  type Packet,
} from '@duskline/domain';
import { decodeMessage, resolveMessage } from '@duskline/wire';
import { beforeEach, describe, expect, it } from 'vitest';
import type { NodeLink, OutgoingMessage } from './node-link.ts';
import { createNodePublisher, HISTORY_STEP_MS, type Progress } from './publish-node.ts';
import { createSimulatedNode, firstState, type NodeState } from './simulated-node.ts';
import { fleet } from './fleet.ts';
import { surroundingsOf } from './surroundings.ts';
import { createWeather } from './weather.ts';

const node = 'withy-weir-1' as NodeName;
const site = fleet.find(({ id }) => id === 'withy-weir') ?? fleet[0]!;
const startMs = Date.UTC(2026, 0, 10);
const drillMs = startMs + 60 * DAY_MS;

let sent: OutgoingMessage[];
let words: (() => void)[];
let progress: Progress[];
let rests: number;
beforeEach(() => {
  [sent, words, progress, rests] = [[], [], [], 0];
});

function open(options: { from?: NodeState; boot?: number; commits?: boolean } = {}) {
  const { from = firstState(site, startMs), boot = 0, commits = true } = options;
  const link: NodeLink = {
    send(message) {
      sent.push(message);
      if (commits) message.onCommitted();
    },
    say(_payload, onTaken) {
      words.push(onTaken);
      if (commits) onTaken();
    },
    answer: () => undefined,
    unacknowledged: () => 0,
    room: () => Promise.resolve(),
    rest: () => (rests += 1),
    wake: () => (rests = 0),
    close: () => Promise.resolve(),
  };
  const surroundings = surroundingsOf(site, 3, createWeather(1, startMs), drillMs);
  const simulated = createSimulatedNode(site, { seed: 1, drillMs, surroundings, from });
  const onProgress = (next: Progress) => progress.push(next);
  return { simulated, publisher: createNodePublisher(simulated, link, { node, boot, onProgress }) };
}
function readBack({ lane, payload }: OutgoingMessage) {
  const packet: Packet = { topic: `v1/${node}/up/${lane}`, payload, receivedAtMs: drillMs };
  const decoded = decodeMessage(packet, { inflate: () => ({ ok: false, fault: 'corrupt' }) });
  const resolved = decoded.ok ? resolveMessage(decoded.value, drillMs) : decoded;
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  return resolved.value;
}
const places = () => sent.map(({ place }) => place);

/** Numbers within a boot go 1, 2, 3 …; boots go up by one. */
function expectContiguous(list: readonly MessagePlace[]): void {
  for (const [i, place] of list.entries()) {
    const before = list[i - 1];
    if (before === undefined || before.boot !== place.boot) {
      expect(place).toEqual({ boot: (before?.boot ?? place.boot - 1) + 1, seq: 1 });
    } else expect(place.seq).toBe(before.seq + 1);
  }
}

describe('the past of a pretend node', () => {
  it('goes out in packs, numbered without a gap, a new boot after each time it was dark', async () => {
    await open().publisher.catchUp(startMs + 40 * DAY_MS);
    expectContiguous(places());
    expect(sent.every(({ lane }) => lane === 'backlog')).toBe(true);
    expect(words.length).toBeGreaterThan(1);
    expect(new Set(places().map(({ boot }) => boot)).size).toBe(1 + Math.floor(words.length / 2));
    const times = sent.flatMap((message) => readBack(message).samples.map((s) => s.observedAtMs));
    expect(new Set(times).size).toBe(times.length);
    expect(times.every((atMs) => atMs % HISTORY_STEP_MS === 0)).toBe(true);
  });

  it('says again the same values at the same times, under numbers of its own, when the memory was lost with the program', async () => {
    const rows = () =>
      sent.flatMap((message) =>
        readBack(message).samples.map((s) => [s.observedAtMs, ...s.values].join()),
      );
    await open().publisher.catchUp(startMs + 10 * DAY_MS);
    const [first, used] = [rows(), places()];
    sent = [];
    await open({ boot: Math.max(...used.map(({ boot }) => boot)) }).publisher.catchUp(
      startMs + 10 * DAY_MS + 5 * HOUR_MS,
    );
    expect(rows().slice(0, first.length)).toEqual(first);
    expect(rows().length).toBeGreaterThan(first.length);
    const isUsed = ({ boot, seq }: MessagePlace) =>
      used.some((place) => place.boot === boot && place.seq === seq);
    expect(places().filter(isUsed)).toEqual([]);
  });

  it('goes on behind the last committed message, and repeats no time', async () => {
    await open().publisher.catchUp(startMs + 10 * DAY_MS);
    const last = progress.at(-1);
    const before = new Set(sent.flatMap((m) => readBack(m).samples.map((s) => s.observedAtMs)));
    sent = [];
    await open({ from: last?.state as NodeState, boot: last?.boot ?? 0 }).publisher.catchUp(
      startMs + 12 * DAY_MS,
    );
    const after = sent.flatMap((m) => readBack(m).samples.map((s) => s.observedAtMs));
    expect(after.filter((atMs) => before.has(atMs))).toEqual([]);
    expect(Math.min(...after) - Math.max(...before)).toBe(HISTORY_STEP_MS);
    expect(sent[0]?.place.boot).toBe((last?.boot ?? 0) + 1);
  });
});

describe('what is remembered', () => {
  it('is a boot number before its first use, and a state only after everything up to it is committed', async () => {
    const { publisher } = open({ commits: false, boot: 6 });
    await publisher.catchUp(startMs + 2 * DAY_MS);
    expect(progress).toEqual([{ boot: 7, state: undefined }]);
    expect(sent.length).toBeGreaterThan(2);
    sent[1]?.onCommitted();
    expect(progress).toHaveLength(1);
    sent[0]?.onCommitted();
    const secondPackMs = readBack(sent[1] as OutgoingMessage).samples.at(-1)?.observedAtMs;
    expect(progress.at(-1)).toMatchObject({ boot: 7, state: { atMs: secondPackMs } });
  });
});

describe('the present of a pretend node', () => {
  it('goes out one sample a message on the live lane', async () => {
    const { publisher } = open();
    await publisher.catchUp(startMs + DAY_MS);
    sent = [];
    publisher.live(startMs + DAY_MS + 30_000);
    publisher.live(startMs + DAY_MS + 60_000);
    expect(sent.map(({ lane }) => lane)).toEqual(['live', 'live']);
    expect(sent.map((message) => readBack(message).samples.length)).toEqual([1, 1]);
  });

  it('after the machine has slept for hours sends them as backlog, and only the newest live', async () => {
    const { publisher } = open();
    await publisher.catchUp(startMs + DAY_MS);
    const before = sent.length;
    publisher.live(startMs + DAY_MS + 3 * HOUR_MS + 12 * MINUTE_MS);
    expect(sent.slice(before).map(({ lane }) => lane)).toEqual(['backlog', 'live']);
    expectContiguous(places());
  });

  it('hangs up while it is dark and calls again when it is back', async () => {
    const { publisher, simulated } = open();
    let [wasDark, wasBack] = [false, false];
    for (let atMs = startMs; atMs < startMs + 50 * DAY_MS && !wasBack; atMs += HISTORY_STEP_MS) {
      publisher.live(atMs);
      expect(rests > 0).toBe(simulated.isSilent());
      wasBack ||= wasDark && !simulated.isSilent();
      wasDark ||= simulated.isSilent();
    }
    expect(wasBack).toBe(true);
  });
});
