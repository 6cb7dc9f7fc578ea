import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

interface CaseFile {
  readonly source: string;
  readonly caseCount: number;
  readonly sha256: string;
  readonly columns: readonly string[];
  readonly cases: readonly (readonly unknown[])[];
}

/**
 * Check values copied from outside the project, one object per case.
 *
 * @throws Error when the file holds another number of cases than the test expects, or was changed since it was copied
 */
export function readCases<Row>(name: string, expectedCount: number): readonly Row[] {
  const path = fileURLToPath(new URL(`../data/energy/${name}.json`, import.meta.url));
  const file = JSON.parse(readFileSync(path, 'utf8')) as CaseFile;
  const sha256 = createHash('sha256').update(JSON.stringify(file.cases)).digest('hex');
  if (sha256 !== file.sha256) throw new Error(`${name}.json was changed: ${sha256}`);
  if (file.cases.length !== expectedCount || file.caseCount !== expectedCount) {
    throw new Error(`${name}.json holds ${file.cases.length} cases, expected ${expectedCount}`);
  }
  return file.cases.map(
    (cells) =>
      Object.fromEntries(file.columns.map((column, index) => [column, cells[index]])) as Row,
  );
}
