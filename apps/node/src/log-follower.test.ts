import {
  appendFileSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
  existsSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { inflateSync } from 'node:zlib';
import type { Lane, MessagePlace, NodeName, Packet } from '@duskline/domain';
import { decodeMessage, resolveMessage } from '@duskline/wire';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createLogFollower, type LogFollower } from './log-follower.ts';
import { parseNodeConfig } from './node-config.ts';
import { openRejectedLines } from './rejected-lines.ts';

/** RFC 1950, by the runtime's own library. */
const inflate = (bytes: Uint8Array) => ({ ok: true as const, value: inflateSync(bytes) });
const node = 'withy-weir-1' as NodeName;
const nowMs = Date.UTC(2026, 10, 25, 7, 10);
let folder: string;
let log: string;
let sent: { lane: Lane; payload: Uint8Array }[];
let faults: string[];
let note: string | undefined;
let room: number;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-follow-'));
  log = join(folder, 'readings.csv');
  [sent, faults, note, room] = [[], [], undefined, 1000];
});
afterEach(() => rmSync(folder, { recursive: true }));

function open(over: object = {}): LogFollower {
  const config = parseNodeConfig(
    {
      node,
      broker: 'mqtt://127.0.0.1',
      secretFile: 'secret',
      stateDir: folder,
      log: {
        path: log,
        time: { column: 1, format: 'iso' },
        columns: [
          { column: 2, metric: 'batt_v', unit: 'V' },
          { column: 3, metric: 'charge', unit: '%EL' },
          { column: 4, metric: 'charge_stage' },
        ],
        ...over,
      },
    },
    folder,
  );
  if (!config.ok) throw new Error(config.fault.join(' '));
  return createLogFollower({
    config: config.value,
    rejected: openRejectedLines(folder, (reason) => faults.push(reason)),
    onFault: (reason) => faults.push(reason),
    now: () => nowMs,
    publisher: {
      hasRoom: () => sent.length < room,
      lastNote: () => note,
      keepNote: (text) => (note = text),
      send(message: { lane: Lane; note: string; encode: (place: MessagePlace) => Uint8Array }) {
        note = message.note;
        const payload = message.encode({ boot: 1, seq: sent.length + 1 });
        sent.push({ lane: message.lane, payload });
      },
    },
  });
}
const at = (second: number): string =>
  new Date(Date.UTC(2026, 10, 25, 7) + second * 1000).toISOString();
const rejected = (): string =>
  existsSync(join(folder, 'rejected.txt'))
    ? readFileSync(join(folder, 'rejected.txt'), 'utf8')
    : '';

/** What the server makes of everything sent. */
function accepted() {
  return sent.map(({ lane, payload }) => {
    const packet: Packet = { topic: `v1/${node}/up/${lane}`, payload, receivedAtMs: nowMs };
    const decoded = decodeMessage(packet, { inflate });
    if (!decoded.ok) throw new Error(decoded.fault.reason);
    const resolved = resolveMessage(decoded.value, nowMs);
    if (!resolved.ok) throw new Error(resolved.fault.reason);
    return resolved.value;
  });
}
const rows = () =>
  accepted().flatMap(({ samples }) =>
    samples.map((sample) => [sample.observedAtMs, ...sample.values] as const),
  );

describe('the follower of a log', () => {
  it('sends each line once, dated and numbered, with words for codes', () => {
    writeFileSync(log, `${at(0)},13.1,64,bulk\n${at(30)},13.2,65,float\n`);
    const follower = open();
    expect(follower.step()).toEqual({ sent: 2, rejected: 0 });
    expect(follower.step()).toEqual({ sent: 0, rejected: 0 });
    appendFileSync(log, `${at(60)},13.3,66,3\n`);
    follower.step();
    expect(accepted().map(({ place }) => place)).toEqual([
      { boot: 1, seq: 1 },
      { boot: 1, seq: 2 },
    ]);
    const t0 = Date.UTC(2026, 10, 25, 7);
    // batt_v, charge, charge_stage: bulk is code 1 and float code 3 of the catalogue.
    expect(rows()).toEqual([
      [t0, 13.1, 64, 1],
      [t0 + 30_000, 13.2, 65, 3],
      [t0 + 60_000, 13.3, 66, 3],
    ]);
    expect(follower.chargeRatio()).toBe(0.66);
  });

  it('joins lines of one time, says nothing twice, and rejects a contradiction', () => {
    writeFileSync(log, `${at(0)},13.1,,\n${at(0)},13.1,64,\n${at(0)},13.9,,\n`);
    const follower = open();
    expect(follower.step()).toEqual({ sent: 1, rejected: 1 });
    expect(rows()).toEqual([[Date.UTC(2026, 10, 25, 7), 13.1, 64]]);
    expect(rejected()).toContain('another value of batt_v for the same time');
  });

  it('keeps to that across messages', () => {
    writeFileSync(log, `${at(0)},13.1,,\n`);
    const follower = open();
    follower.step();
    appendFileSync(log, `${at(0)},13.1,64,\n${at(0)},13.7,,\n`);
    expect(follower.step()).toEqual({ sent: 1, rejected: 1 });
    expect(rows().map((row) => row.slice(1))).toEqual([[13.1], [64]]);
  });

  it('names bad lines in rejected.txt once, also when no good one follows for long', () => {
    writeFileSync(log, `${at(0)},13.1,,\nrubbish\n${at(30)},x,,\n`);
    const follower = open();
    for (let i = 0; i < 5; i++) follower.step();
    open().step();
    expect(rejected().trim().split('\n')).toHaveLength(2);
    appendFileSync(log, 'more rubbish\n');
    for (let i = 0; i < 5; i++) follower.step();
    expect(rejected().trim().split('\n')).toHaveLength(3);
    expect(rejected()).toContain('rubbish');
    expect(rows()).toHaveLength(1);
  });

  it('finds at home what the server would refuse: its neighbours travel without it', () => {
    writeFileSync(
      log,
      `${at(0)},13.1,,\n2038-01-01T00:00:00Z,13.2,,\n1970-01-01T00:00:09Z,13.2,,\n${at(30)},13.3,,\n`,
    );
    expect(open().step()).toEqual({ sent: 2, rejected: 2 });
    expect(rows().map((row) => row[1])).toEqual([13.1, 13.3]);
    expect(rejected()).toContain('after it was received');
    expect(rejected()).toContain('before 2020');
  });

  it('holds back when there is no room, and goes on where it stopped', () => {
    const lines = Array.from({ length: 250 }, (_, i) => `${at(i)},${12 + i / 1000},,`);
    writeFileSync(log, `${lines.join('\n')}\n`);
    room = 1;
    const follower = open();
    expect(follower.step().sent).toBe(100);
    room = 2;
    expect(follower.step().sent).toBe(100);
    room = 1000;
    expect(open().step().sent).toBe(50);
    expect(new Set(rows().map(([atMs]) => atMs)).size).toBe(250);
  });

  it('sends old lines by the backlog lane and fresh ones live', () => {
    writeFileSync(log, `2026-11-20T00:00:00Z,12.9,,\n`);
    const follower = open();
    follower.step();
    appendFileSync(log, `${at(590)},13.1,,\n`);
    follower.step();
    expect(sent.map(({ lane }) => lane)).toEqual(['backlog', 'live']);
  });

  it('passes over nothing while the header lacks a column that the configuration names', () => {
    writeFileSync(log, `time,volts\n${at(0)},13.1\n`);
    const wrong = {
      header: true,
      time: { column: 'time', format: 'iso' },
      columns: [{ column: 'Volts', metric: 'batt_v', unit: 'V' }],
    };
    expect(open(wrong).step().sent).toBe(0);
    expect(faults.join()).toContain('no Volts; it has time, volts');
    const right = { ...wrong, columns: [{ column: 'volts', metric: 'batt_v', unit: 'V' }] };
    expect(open(right).step().sent).toBe(1);
  });

  it('starts from the beginning when its note is spoiled', () => {
    writeFileSync(log, `${at(0)},13.1,,\n`);
    for (const spoiled of ['', 'null', '{"offset":"x"}', '{"inode":4,"offset":9}']) {
      note = spoiled;
      expect(open().step().sent).toBe(1);
    }
  });

  it('sends many lines deflated, a few as they are', () => {
    const lines = Array.from({ length: 100 }, (_, i) => `${at(i)},${12 + i / 1000},64,bulk`);
    writeFileSync(log, `${lines.join('\n')}\n`);
    const follower = open();
    follower.step();
    appendFileSync(log, `${at(200)},13.1,,\n`);
    follower.step();
    // RFC 1950: the first byte of a zlib stream with a window of 32 KB is 0x78; RFC 8428: JSON begins with [.
    expect(sent.map(({ payload }) => payload[0])).toEqual([0x78, 0x5b]);
    expect(sent[0]?.payload.length).toBeLessThan(3000);
    expect(rows()).toHaveLength(101);
  });

  const withUptime = {
    columns: [
      { column: 2, metric: 'batt_v', unit: 'V' },
      { column: 3, metric: 'uptime', unit: 's' },
    ],
  };

  it('dates lines of a clock that was not set by uptime, once a later line tells the time', () => {
    writeFileSync(log, `1970-01-01T00:00:40Z,13.1,40\n1970-01-01T00:01:10Z,13.2,70\n`);
    const follower = open(withUptime);
    expect(follower.step()).toEqual({ sent: 0, rejected: 0 });
    appendFileSync(log, `${at(100)},13.3,100\n`);
    expect(follower.step()).toEqual({ sent: 3, rejected: 0 });
    const t0 = Date.UTC(2026, 10, 25, 7);
    // By hand: written 60 s and 30 s of uptime before the line of t0 + 100 s.
    const samples = accepted().flatMap((message) => message.samples);
    expect(samples.map(({ observedAtMs, timeQuality }) => [observedAtMs, timeQuality])).toEqual([
      [t0 + 40_000, 're-dated'],
      [t0 + 70_000, 're-dated'],
      [t0 + 100_000, 'synced'],
    ]);
  });

  it('does not date them across a restart', () => {
    writeFileSync(log, `1970-01-01T00:00:40Z,13.1,40\n${at(0)},13.2,30\n`);
    expect(open(withUptime).step()).toEqual({ sent: 1, rejected: 1 });
    expect(rejected()).toContain('no later line of the same boot');
  });
});
