import { basename } from 'node:path';
import { describe, expect, it } from 'vitest';
import { projectFiles } from './workspace.ts';

const BANNED = /^(utils?|helpers?|common|misc|core|base|manager|service|types|lib)(\.|$)/;
const TOP_LEVEL = [
  'CHANGELOG.md',
  'DEVELOPERS.md',
  'LICENSE',
  'README.md',
  'apps',
  'docker-compose.yml',
  'package-lock.json',
  'package.json',
  'packages',
  'shared',
  'test',
  'tsconfig.json',
];

describe('names', () => {
  it('name what is inside: no file or folder is called after nothing', () => {
    const offences = projectFiles.filter((path) =>
      path
        .replace('apps/web/src/lib/', 'apps/web/src/')
        .split('/')
        .some((part) => BANNED.test(part)),
    );
    expect(offences).toEqual([]);
  });

  it('of source files are kebab-case, of components PascalCase', () => {
    const offences = projectFiles.filter((path) => {
      const name = basename(path);
      if (name.startsWith('+') || path.includes('/reference/data/')) return false;
      if (name.endsWith('.svelte')) return !/^[A-Z][A-Za-z0-9]*\.svelte$/.test(name);
      if (name.endsWith('.ts')) return !/^[a-z0-9]+(-[a-z0-9]+)*(\.[a-z0-9]+)*\.ts$/.test(name);
      return false;
    });
    expect(offences).toEqual([]);
  });

  it('at the top of the tree are the ones agreed on', () => {
    const top = [...new Set(projectFiles.map((path) => path.split('/')[0] ?? ''))]
      .filter((name) => !name.startsWith('.'))
      .sort();
    expect(top.filter((name) => !TOP_LEVEL.includes(name))).toEqual([]);
  });
});
