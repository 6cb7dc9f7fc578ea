import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../../', import.meta.url));

/** Files git tracks, and those it neither tracks nor ignores: what a commit could hold. */
export const projectFiles: readonly string[] = execFileSync(
  'git',
  ['ls-files', '--cached', '--others', '--exclude-standard', '--deduplicate'],
  { cwd: root, encoding: 'utf8' },
)
  .split('\n')
  .filter((path) => path !== '');

export const readProjectFile = (path: string): string => readFileSync(join(root, path), 'utf8');

export interface Member {
  readonly folder: string;
  readonly name: string;
  readonly dependencies: readonly string[];
}

interface Manifest {
  readonly name: string;
  readonly dependencies?: Record<string, string>;
  readonly devDependencies?: Record<string, string>;
  readonly optionalDependencies?: Record<string, string>;
}

export const members: readonly Member[] = projectFiles
  .filter((path) => /^(apps|packages|shared|test)\/[^/]+\/package\.json$/.test(path))
  .map((path) => {
    const manifest = JSON.parse(readProjectFile(path)) as Manifest;
    return {
      folder: dirname(path),
      name: manifest.name,
      dependencies: Object.keys({
        ...manifest.dependencies,
        ...manifest.devDependencies,
        ...manifest.optionalDependencies,
      }),
    };
  });

const IMPORT =
  /(?:^|\n)\s*(?:import|export)\s(?:[^'"]*?\sfrom\s)?['"]([^'"]+)['"]|import\(\s*['"]([^'"]+)['"]/g;

/** What a source file imports, as written. */
export function importsOf(path: string): readonly string[] {
  return [...readProjectFile(path).matchAll(IMPORT)].map((match) => match[1] ?? match[2] ?? '');
}

/** The source files of one member, without its tests unless asked. */
export function sourcesOf(folder: string, options: { tests: boolean }): readonly string[] {
  return projectFiles.filter(
    (path) =>
      path.startsWith(`${folder}/src/`) &&
      /\.(ts|svelte)$/.test(path) &&
      (options.tests || !path.endsWith('.test.ts')),
  );
}
