import { dirname, join, normalize } from 'node:path';
import { describe, expect, it } from 'vitest';
import { importsOf, members, sourcesOf } from './workspace.ts';

/** The drawing in DEVELOPERS.md: what each member may import of ours. */
const mayImport: Readonly<Record<string, readonly string[]>> = {
  domain: [],
  wire: ['domain'],
  energy: ['domain'],
  forecast: ['domain', 'energy'],
  diagnosis: ['domain'],
  alerts: ['domain'],
  quality: ['domain'],
  contract: ['domain'],
  store: ['domain'],
  intake: ['domain', 'wire'],
  broker: ['domain', 'wire'],
  notify: ['domain'],
  export: ['domain'],
  api: ['domain', 'contract'],
  live: ['domain', 'contract'],
  web: ['domain', 'contract'],
  node: ['domain', 'wire'],
  simulator: ['domain', 'wire', 'energy'],
  server: [
    'domain',
    'wire',
    'contract',
    'energy',
    'forecast',
    'diagnosis',
    'alerts',
    'quality',
    'store',
    'intake',
    'broker',
    'notify',
    'export',
    'api',
    'live',
  ],
  'test-harness': ['domain', 'wire', 'store', 'broker'],
  tooling: [],
};

const pure = ['domain', 'wire', 'energy', 'forecast', 'diagnosis', 'alerts', 'quality', 'contract'];
const OURS = '@duskline/';
const shortName = (name: string) => name.slice(OURS.length);
const packageOf = (specifier: string) =>
  specifier
    .split('/')
    .slice(0, specifier.startsWith('@') ? 2 : 1)
    .join('/');

/** Types may come from a package of their own, e.g. geojson from @types/geojson. */
const isDeclared = (name: string, dependencies: readonly string[]): boolean =>
  dependencies.includes(name) || dependencies.includes(`@types/${name}`);

describe('dependency direction', () => {
  it('knows every member of the workspace', () => {
    expect(members.map((member) => shortName(member.name)).sort()).toEqual(
      Object.keys(mayImport).sort(),
    );
  });

  it.each(members)('$name imports only what stands below it', ({ folder, name, dependencies }) => {
    const allowed = mayImport[shortName(name)] ?? [];
    const offences: string[] = [];
    for (const path of sourcesOf(folder, { tests: false })) {
      for (const specifier of importsOf(path)) {
        if (specifier.startsWith(OURS)) {
          const target = specifier.slice(OURS.length);
          if (!allowed.includes(target)) offences.push(`${path} imports ${specifier}`);
        } else if (specifier.startsWith('.')) {
          if (!normalize(join(dirname(path), specifier)).startsWith(`${folder}/`))
            offences.push(`${path} reaches out of its folder: ${specifier}`);
        } else if (specifier.startsWith('node:')) {
          if (pure.includes(shortName(name))) offences.push(`${path} imports ${specifier}`);
        } else if (!specifier.startsWith('$') && !isDeclared(packageOf(specifier), dependencies)) {
          offences.push(`${path} imports ${specifier}, which its package.json does not declare`);
        }
      }
    }
    for (const dependency of dependencies)
      if (dependency.startsWith(OURS) && !allowed.includes(dependency.slice(OURS.length)))
        offences.push(`${folder}/package.json declares ${dependency}`);
    expect(offences).toEqual([]);
  });

  it.each(members)('$name has no import cycle', ({ folder }) => {
    const edges = new Map<string, readonly string[]>();
    for (const path of sourcesOf(folder, { tests: false }))
      edges.set(
        path,
        importsOf(path)
          .filter((specifier) => specifier.startsWith('.'))
          .map((specifier) => normalize(join(dirname(path), specifier))),
      );
    const done = new Set<string>();
    const cycles: string[] = [];
    const walk = (path: string, trail: readonly string[]): void => {
      if (trail.includes(path)) {
        cycles.push([...trail.slice(trail.indexOf(path)), path].join(' → '));
        return;
      }
      if (done.has(path)) return;
      for (const next of edges.get(path) ?? []) walk(next, [...trail, path]);
      done.add(path);
    };
    for (const path of edges.keys()) walk(path, []);
    expect(cycles).toEqual([]);
  });
});
