import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

interface Locked {
  readonly dependencies?: Readonly<Record<string, string>>;
  readonly optionalDependencies?: Readonly<Record<string, string>>;
  readonly hasInstallScript?: boolean;
  readonly os?: readonly string[];
  readonly cpu?: readonly string[];
  readonly link?: boolean;
  readonly resolved?: string;
}

const lock = JSON.parse(
  readFileSync(new URL('../../../package-lock.json', import.meta.url), 'utf8'),
) as { readonly packages: Readonly<Record<string, Locked>> };

/** As Node.js looks for it: beside the one that wants it, then one folder up, and so on. */
function find(name: string, from: string): string | undefined {
  for (let at = from; ; at = at.slice(0, Math.max(0, at.lastIndexOf('/node_modules/')))) {
    const path = at === '' ? `node_modules/${name}` : `${at}/node_modules/${name}`;
    if (lock.packages[path] !== undefined) return path;
    if (at === '') return undefined;
    if (!at.includes('/node_modules/')) at = '/node_modules/';
  }
}

it('nothing that the field program needs is compiled for one kind of processor', () => {
  const seen = new Set<string>();
  const native: string[] = [];
  const walk = (path: string) => {
    if (seen.has(path)) return;
    seen.add(path);
    const entry = lock.packages[path];
    if (entry?.link === true && entry.resolved !== undefined) return walk(entry.resolved);
    // An install script builds or fetches machine code; os and cpu say for which machine.
    if (entry?.hasInstallScript === true || entry?.cpu !== undefined || entry?.os !== undefined)
      native.push(path);
    const wanted = { ...entry?.dependencies, ...entry?.optionalDependencies };
    for (const name of Object.keys(wanted)) {
      const found = find(name, path);
      if (found !== undefined) walk(found);
    }
  };
  walk('apps/node');
  expect(native).toEqual([]);
  expect(seen).toContain('node_modules/mqtt');
  expect(seen.size).toBeGreaterThan(10);
});
