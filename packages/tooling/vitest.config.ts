import { readdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** Workspace packages resolve to their sources, so that no test waits for a build. */
const alias = Object.fromEntries(
  ['shared', 'packages', 'apps', 'test'].flatMap((folder) =>
    readdirSync(`${root}${folder}`)
      .filter((name) => folder !== 'test' || name === 'harness')
      .map((name) => [
        `@duskline/${folder === 'test' ? 'test-harness' : name}`,
        `${root}${folder}/${name}/src/index.ts`,
      ]),
  ),
);

const shared = { resolve: { alias } };

/** One fewer than there are cores is the usual; on two cores that would leave one idle. */
const maxWorkers = Math.max(2, availableParallelism() - 1);

export default defineConfig({
  root,
  test: {
    // CI adds the runs up afterwards: one file a run.
    reporters: process.env['CI'] === undefined ? ['default'] : ['default', 'json'],
    outputFile: { json: `${root}test-results/${process.pid}.json` },
    projects: [
      {
        ...shared,
        test: {
          name: 'units',
          root,
          include: ['{apps,packages,shared}/*/src/**/*.test.ts'],
          exclude: ['**/*.db.test.ts', '**/*.broker.test.ts', '**/node_modules/**'],
          // Long enough for a machine that does other things too: no test here is about time.
          testTimeout: 30_000,
          hookTimeout: 60_000,
          maxWorkers,
        },
      },
      {
        ...shared,
        test: {
          name: 'database',
          root,
          include: ['{apps,packages,test}/*/src/**/*.{db,broker}.test.ts'],
          globalSetup: [`${root}test/harness/src/database-setup.ts`],
          testTimeout: 60_000,
          hookTimeout: 120_000,
          maxWorkers: 2,
          sequence: { groupOrder: 1 },
        },
      },
      {
        ...shared,
        test: {
          name: 'reference',
          root,
          include: ['test/reference/**/*.test.ts'],
          testTimeout: 120_000,
          maxWorkers,
        },
      },
      {
        ...shared,
        test: {
          name: 'architecture',
          root,
          include: ['test/architecture/**/*.test.ts'],
          testTimeout: 60_000,
          maxWorkers,
        },
      },
      {
        ...shared,
        test: {
          name: 'faults',
          root,
          include: ['test/faults/**/*.test.ts'],
          globalSetup: [`${root}test/harness/src/database-setup.ts`],
          testTimeout: 600_000,
          hookTimeout: 120_000,
          maxWorkers: 1,
          sequence: { groupOrder: 2 },
        },
      },
      {
        ...shared,
        test: {
          name: 'e2e',
          root,
          include: ['test/e2e/**/*.test.ts'],
          globalSetup: [
            `${root}test/harness/src/database-setup.ts`,
            `${root}test/e2e/demo-template.ts`,
          ],
          testTimeout: 240_000,
          hookTimeout: 240_000,
          maxWorkers: 1,
          sequence: { groupOrder: 3 },
        },
      },
    ],
  },
});
