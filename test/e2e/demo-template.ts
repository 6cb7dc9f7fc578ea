import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TestProject } from 'vitest/node';

declare module 'vitest' {
  export interface ProvidedContext {
    /** Where the data folder of a demo that was ready lies, once a file has needed one. */
    readonly demoTemplate: string;
  }
}

/** A place for the data of one demo, which the test files that only look at a fleet begin with. */
export default function makePlace(project: TestProject): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'duskline-demo-template-'));
  project.provide('demoTemplate', folder);
  return () => rmSync(folder, { recursive: true, force: true });
}
