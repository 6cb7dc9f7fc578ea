// Adds up what the test runs of this checkout counted, and names each that failed or was skipped, for the closing lines that CI keeps.
import { readdirSync, readFileSync } from 'node:fs';
import { relative } from 'node:path';

const folder = new URL('../test-results/', import.meta.url);
let passed = 0;
let failed = 0;
let skipped = 0;
const says = [];
for (const name of readdirSync(folder).filter((file) => file.endsWith('.json'))) {
  const report = JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
  passed += report.numPassedTests;
  failed += report.numFailedTests;
  skipped += report.numPendingTests + report.numTodoTests;
  for (const file of report.testResults) {
    const at = relative(process.cwd(), file.name);
    if (file.status === 'failed' && file.assertionResults.length === 0) {
      failed += 1;
      says.push(`FAILED ${at}: could not be loaded. ${file.message ?? ''}`);
    }
    for (const test of file.assertionResults)
      if (test.status === 'failed')
        says.push(
          `FAILED ${at} > ${test.fullName}\n  ${(test.failureMessages ?? []).join('\n  ').slice(0, 600)}`,
        );
      else if (test.status !== 'passed') says.push(`skipped ${at} > ${test.fullName}`);
  }
}
for (const line of says) console.log(line);
console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
if (passed === 0 || failed > 0) process.exitCode = 1;
