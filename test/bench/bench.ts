import { cpus } from 'node:os';
import { benchIntake } from './intake-bench.ts';
import { intakeSentences } from './intake-sentences.ts';

/**
 * Prints figures; asserts nothing. `npm run bench` runs every bench, `npm run bench -- intake` one of them; `--json` prints
 * one JSON object for each, `--quick` takes a tenth of what takes long (and says so).
 */
const benches: Readonly<
  Record<
    string,
    (options: { readonly quick: boolean }) => Promise<{
      readonly report: object;
      readonly sentences: readonly string[];
    }>
  >
> = {
  async intake(options) {
    const report = await benchIntake(options);
    return { report, sentences: intakeSentences(report) };
  },
  async card({ quick }) {
    const { benchCard } = await import('./card-rate.ts');
    return await benchCard(quick ? 100_000 : 1_000_000);
  },
  async export() {
    const { benchExport } = await import('./export-rate.ts');
    const at = process.argv.indexOf('--rows');
    return await benchExport(at < 0 ? 1_000_000 : Number(process.argv[at + 1]));
  },
  async api(options) {
    const { benchApi } = await import('./api-rate.ts');
    return await benchApi(options);
  },
  async web(options) {
    const { benchWeb } = await import('./web-bench.ts');
    return await benchWeb(options);
  },
  async outlook() {
    const { measureOutlook, measureThousand, SERVER_HORIZON_DAYS } =
      await import('./outlook-rate.ts');
    const { medianMs, maxMs } = measureOutlook(60);
    const thousandS = measureThousand();
    const days = SERVER_HORIZON_DAYS;
    const report = { bench: 'outlook', paths: 500, days, medianMs, maxMs, thousandS };
    return {
      report,
      sentences: [
        `outlook, 500 paths over ${days} days from 60 days of past: ${medianMs.toFixed(1)} ms of processor time (median of 60; slowest ${maxMs.toFixed(1)} ms)`,
        `  1,000 nodes, one after the other: ${thousandS.toFixed(1)} s of one core`,
      ],
    };
  },
};

const words = process.argv.slice(2);
const json = words.includes('--json');
const quick = words.includes('--quick');
const names = words.filter((word, i) => !word.startsWith('--') && words[i - 1] !== '--rows');
const say = (line: string) => process.stdout.write(`${line}\n`);

const unknown = names.find((name) => !(name in benches));
if (unknown !== undefined) {
  process.stderr.write(
    `There is no bench ${unknown}; there are ${Object.keys(benches).join(', ')}.\n`,
  );
  process.exit(1);
}
if (!json)
  say(
    `${cpus().length} cores, ${cpus()[0]?.model ?? 'unknown processor'}, Node ${process.versions.node}`,
  );
for (const [name, run] of Object.entries(benches)) {
  if (names.length > 0 && !names.includes(name)) continue;
  const { report, sentences } = await run({ quick });
  for (const line of json ? [JSON.stringify(report)] : sentences) say(line);
}
