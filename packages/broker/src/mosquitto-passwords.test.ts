import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  isServerName,
  mosquittoPasswordLine,
  removeMosquittoPassword,
  writeMosquittoPassword,
} from './index.ts';

// What `mosquitto_passwd -b file rushy-sluice hello` of Mosquitto 2.0.11 wrote.
const theirs =
  'rushy-sluice:$7$101$Sl5ugh9A/8UuNtUe$' +
  'Hm7fbZ9GnaYU0vpgDmCunzKwwh+T9ZJfyQb/ei2FSLBcx8D5qUmyAilGP0NWUEyzxzcrxOgKEU83IBcc6BgWhg==';

describe('a line of the password file', () => {
  it('is what mosquitto_passwd writes for the same secret and salt', async () => {
    const salt = Buffer.from('Sl5ugh9A/8UuNtUe', 'base64');
    expect(await mosquittoPasswordLine('rushy-sluice', 'hello', salt)).toBe(theirs);
  });

  it('has a salt of its own each time', async () => {
    const lines = [1, 2].map(() => mosquittoPasswordLine('rushy-sluice', 'hello'));
    const [first, second] = await Promise.all(lines);
    expect(first).not.toBe(second);
  });

  it.each(['a:b', 'a\nb', '+', '#', 'a b', ''])('is not made for the name %j', async (name) => {
    await expect(mosquittoPasswordLine(name, 'x')).rejects.toThrow(RangeError);
  });
});

describe('the password file', () => {
  let folder: string;
  let file: string;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'passwords-'));
    file = join(folder, 'passwords');
  });
  afterEach(() => rm(folder, { recursive: true }));
  const names = async () => {
    const text = await readFile(file, 'utf8');
    return text
      .trimEnd()
      .split('\n')
      .map((line) => line.split(':')[0]);
  };

  it('is readable by its owner only', async () => {
    await writeMosquittoPassword(file, 'rushy-sluice', 'x');
    expect((await stat(file)).mode & 0o777).toBe(0o600);
  });

  it('holds every name once, even when many are written at the same time', async () => {
    const all = Array.from({ length: 20 }, (_, i) => `node-${i}`);
    await Promise.all(all.map((name) => writeMosquittoPassword(file, name, 'x')));
    expect((await names()).sort()).toEqual([...all].sort());
    const before = await readFile(file, 'utf8');
    await writeMosquittoPassword(file, 'node-7', 'new');
    expect((await names()).sort()).toEqual([...all].sort());
    expect(await readFile(file, 'utf8')).not.toBe(before);
  });

  it('loses one name and keeps the one that begins with it', async () => {
    await writeMosquittoPassword(file, 'long-moss', 'x');
    await writeMosquittoPassword(file, 'long-moss-2', 'x');
    await removeMosquittoPassword(file, 'long-moss');
    expect(await names()).toEqual(['long-moss-2']);
  });
});

it('keeps the names of the server’s own consumers apart from those of nodes', () => {
  expect(['ingest', 'ingest-0', 'ingest-12'].every(isServerName)).toBe(true);
  expect(['rushy-sluice', 'ingestion', 'old-ingest'].some(isServerName)).toBe(false);
});
