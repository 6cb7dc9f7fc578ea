// Adds up what the test runs of this checkout counted, for the closing line that CI reads.
import { readdirSync, readFileSync } from 'node:fs';

const folder = new URL('../test-results/', import.meta.url);
let passed = 0;
let failed = 0;
let skipped = 0;
for (const name of readdirSync(folder).filter((file) => file.endsWith('.json'))) {
  const report = JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
  passed += report.numPassedTests;
  failed += report.numFailedTests;
  skipped += report.numPendingTests + report.numTodoTests;
}
console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
if (passed === 0 || failed > 0) process.exitCode = 1;
