import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { openFleetFile, type FleetMemory } from './fleet-file.ts';

let folder: string;
let path: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskline-fleet-'));
  path = join(folder, 'deep', 'fleet.json');
});
afterEach(() => rmSync(folder, { recursive: true }));
const begin = (): FleetMemory => ({ version: 2, seed: 1, startMs: 10, drillMs: 20, nodes: {} });
const never = (): FleetMemory => {
  throw new Error('it was there');
};

it('the memory of the fleet outlives the program, and only its owner can read the secrets in it', () => {
  const keeper = openFleetFile(path, begin);
  keeper.update('tarn-gill', { node: 'tarn-gill-1', secret: 's', boot: 3 });
  keeper.save();
  expect(openFleetFile(path, never).memory().nodes['tarn-gill']?.boot).toBe(3);
  expect(statSync(path).mode & 0o077).toBe(0);
});

it('nothing is written when nothing was updated', () => {
  const keeper = openFleetFile(path, begin);
  keeper.save();
  writeFileSync(path, 'touched by somebody');
  keeper.save();
  expect(readFileSync(path, 'utf8')).toBe('touched by somebody');
});

it('a fleet of another version is refused in words that say what to do', () => {
  openFleetFile(path, begin).save();
  writeFileSync(path, '{"version":1}');
  expect(() => openFleetFile(path, begin)).toThrow('DUSKLINE_DATA_DIR');
});
