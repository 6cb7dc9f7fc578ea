import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSettingsDesk } from './settings-desk.ts';

let folder: string;
let nowMs: number;
let changes: number;
let faults: string[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-settings-'));
  [nowMs, changes, faults] = [Date.UTC(2026, 10, 26), 0, []];
});
afterEach(() => rmSync(folder, { recursive: true }));

const open = (scriptReadsSettings = true) =>
  openSettingsDesk({
    own: { logEveryS: 30, publishEveryS: 60, scriptReadsSettings },
    stateDir: folder,
    onChange: () => (changes += 1),
    onFault: (reason) => faults.push(reason),
    now: () => nowMs,
  });
const bytes = (json: object) => Buffer.from(JSON.stringify(json));
const file = (): unknown => JSON.parse(readFileSync(join(folder, 'settings.json'), 'utf8'));

describe('settings asked for from afar', () => {
  it("are the node's own until somebody asks", () => {
    const desk = open();
    expect(desk.inForce()).toBeUndefined();
    expect(desk.publishEveryS()).toBe(60);
    expect(file()).toEqual({ log_every: 30, publish_every: 60 });
  });

  it('are applied, told to the script, confirmed once, and kept through a power cut', () => {
    const desk = open();
    desk.receive(bytes({ id: 'a1', log_every: 300, publish_every: 3600 }));
    desk.receive(bytes({ id: 'a1', log_every: 300, publish_every: 3600 }));
    const inForce = { id: 'a1', logEveryS: 300, publishEveryS: 3600 };
    expect(desk.inForce()).toEqual(inForce);
    expect(changes).toBe(1);
    expect(file()).toEqual({ log_every: 300, publish_every: 3600 });
    expect(open().inForce()).toEqual(inForce);
  });

  it('end by themselves when thrift ends, and not by a clock that was never set', () => {
    const desk = open();
    const until = Date.UTC(2026, 11, 1);
    desk.receive(bytes({ id: 'a2', log_every: 600, thrift_until: until / 1000 }));
    expect(desk.inForce()).toMatchObject({
      logEveryS: 600,
      publishEveryS: 60,
      thriftUntilMs: until,
    });
    nowMs = 5000;
    desk.look();
    expect(desk.inForce()).toMatchObject({ logEveryS: 600 });
    nowMs = until;
    desk.look();
    expect(desk.inForce()).toEqual({ id: 'a2', logEveryS: 30, publishEveryS: 60 });
    expect(file()).toEqual({ log_every: 30, publish_every: 60 });
  });

  it('are refused where the script would not keep to them', () => {
    const desk = open(false);
    desk.receive(bytes({ id: 'a3', log_every: 600, publish_every: 120 }));
    expect(desk.inForce()).toMatchObject({ id: 'a3', logEveryS: 30, publishEveryS: 120 });
    expect(desk.inForce()?.refusal).toContain('does not read settings.json');
  });

  it('stay when a request makes no sense', () => {
    const desk = open();
    desk.receive(Buffer.from('{"id":"a4","log_every":-1}'));
    desk.receive(Buffer.alloc(0));
    expect(desk.inForce()).toBeUndefined();
    expect(faults.join()).toContain('log_every');
  });
});
