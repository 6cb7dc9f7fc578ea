import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { whyNoMosquitto } from '@duskline/test-harness';
import { skipped, type Broker, type Experiment, type Outcome } from './experiment.ts';
import { experiments } from './experiments/index.ts';
import { closeLabs, inLab, startSharedPostgres, type SharedPostgres } from './lab.ts';
import { sideBySide } from './side-by-side.ts';

/** `npm run faults -- [--full] [--json] [--lanes N] [--seed N] [E1 E3 …]`: one line an experiment; ends non-zero when one
 * fails by more than its times: those depend on the machine, and are printed, not asserted. */
const words = process.argv.slice(2);
const numberAfter = (name: string, otherwise: number): number => {
  const at = words.indexOf(name);
  return at === -1 ? otherwise : Number(words[at + 1]);
};
const seed = numberAfter('--seed', 20_261_126);
const full = words.includes('--full');
// The long profile measures: nothing runs beside an experiment.
const lanes = numberAfter('--lanes', full || cpus().length < 2 ? 1 : 2);
const json = words.includes('--json');
const wanted = words.filter((word) => /^E\d+$/i.test(word)).map((word) => word.toUpperCase());
const unknown = wanted.filter((id) => !experiments.some((one) => one.id === id));
if (unknown.length > 0 || !Number.isSafeInteger(seed) || !(lanes >= 1)) {
  process.stderr.write(
    `Unknown: ${unknown.join(' ')}. There are ${experiments.map(({ id, name }) => `${id} ${name}`).join(', ')}.\n`,
  );
  process.exit(2);
}
const chosen = experiments.filter((one) => wanted.length === 0 || wanted.includes(one.id));
const noMosquitto = await whyNoMosquitto();

let shared: Promise<SharedPostgres> | undefined;
const say = (text: string) => void process.stderr.write(`    ${text}\n`);

/** Which to run it with; without Mosquitto the short profile takes the other one. */
function brokersOf({ brokers, shortBroker }: Experiment): readonly (Broker | undefined)[] {
  if (brokers === undefined) return [undefined];
  if (full || shortBroker === undefined) return brokers;
  return [noMosquitto === undefined ? shortBroker : 'embedded'];
}

async function runOne(experiment: Experiment, broker: Broker): Promise<Outcome> {
  if (broker === 'mosquitto' && noMosquitto !== undefined) return skipped(noMosquitto);
  try {
    return await inLab(
      { full, seed, say, shared: () => (shared ??= startSharedPostgres()) },
      (lab) => experiment.run(lab, broker),
    );
  } catch (cause) {
    const words = cause instanceof Error ? (cause.stack ?? cause.message) : String(cause);
    return { verdict: 'FAIL', figures: {}, why: [`it could not be carried out: ${words}`] };
  }
}

function report(
  experiment: Experiment,
  broker: Broker | undefined,
  outcome: Outcome,
  seconds: number,
) {
  const { id, name } = experiment;
  if (json) {
    const line = { id, name, broker, ...outcome, seconds, seed, profile: full ? 'full' : 'short' };
    process.stdout.write(`${JSON.stringify({ ...line, node: process.versions.node })}\n`);
    return;
  }
  const figures = Object.entries(outcome.figures).map(([key, value]) => `${key}=${value}`);
  const why = outcome.why.length === 0 ? '' : ` — ${outcome.why.join('; ')}`;
  process.stdout.write(
    `${outcome.verdict.padEnd(7)} ${`${id} ${name}`.padEnd(18)}${broker === undefined ? '' : ` [${broker}]`} ${figures.join(' ')} (${seconds} s)${why}\n`,
  );
}

const startedMs = Date.now();
const statusOf = { PASS: 'passed', FAIL: 'failed', SKIPPED: 'pending' } as const;
const tally = { PASS: 0, FAIL: 0, SKIPPED: 0 };
let slow = 0;
const failures: unknown[] = [];
const results: { status: string; fullName: string; failureMessages: readonly string[] }[] = [];
process.on('unhandledRejection', (cause) => failures.push(cause));
for (const signal of ['SIGINT', 'SIGTERM'] as const)
  process.once(signal, () => {
    say('told to stop: taking down what is up');
    void closeLabs()
      .then(async () => (await shared)?.stop())
      .finally(() => process.exit(130));
  });
async function runAndReport(experiment: Experiment, broker: Broker | undefined): Promise<void> {
  const atMs = Date.now();
  const outcome = await runOne(experiment, broker ?? 'embedded');
  const isSlow = outcome.isOnlySlow === true;
  tally[outcome.verdict] += 1;
  if (isSlow) slow += 1;
  results.push({
    status: isSlow ? 'pending' : statusOf[outcome.verdict],
    fullName: `${experiment.id} ${experiment.name}${broker === undefined ? '' : ` [${broker}]`}${isSlow ? ` (not in time here: ${outcome.why.join('; ')})` : ''}`,
    failureMessages: outcome.verdict === 'FAIL' ? outcome.why : [],
  });
  report(experiment, broker, outcome, Math.round((Date.now() - atMs) / 1000));
}
await sideBySide(
  chosen.flatMap((experiment) =>
    brokersOf(experiment).map((broker) => ({
      place: experiment.place ?? 'any',
      run: () => runAndReport(experiment, broker),
    })),
  ),
  lanes,
);
await (await shared)?.stop();
for (const cause of failures) process.stderr.write(`unhandled in the harness: ${String(cause)}\n`);
if (!json)
  process.stdout.write(
    `faults, ${full ? 'full' : 'short'} profile, seed ${seed}, ${cpus().length} cores: ${tally.PASS} passed, ${tally.FAIL} failed (${slow} of them only by their times), ${tally.SKIPPED} skipped in ${Math.round((Date.now() - startedMs) / 1000)} s\n`,
  );
if (process.env['CI'] !== undefined) await writeCount();
process.exit(tally.FAIL > slow || failures.length > 0 ? 1 : 0);

/** In the shape that the sum of all test runs reads. */
async function writeCount(): Promise<void> {
  const { mkdir, writeFile } = await import('node:fs/promises');
  const folder = new URL('../../test-results/', import.meta.url);
  await mkdir(folder, { recursive: true });
  const count = {
    numPassedTests: tally.PASS,
    numFailedTests: tally.FAIL - slow + failures.length,
    numPendingTests: tally.SKIPPED + slow,
    numTodoTests: 0,
    testResults: [
      {
        name: fileURLToPath(import.meta.url),
        status: tally.FAIL > slow ? 'failed' : 'passed',
        assertionResults: results,
      },
    ],
  };
  await writeFile(new URL(`faults-${process.pid}.json`, folder), JSON.stringify(count));
}
