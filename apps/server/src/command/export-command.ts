import { exportFormats, aggregateSeconds, positionChoices } from '@duskline/export';
import type { NewExportJson } from '@duskline/contract';
import { metricOf } from '@duskline/domain';
import { parseArgs } from 'node:util';
import { askServer } from './ask-server.ts';
import { CommandProblem } from './command-problem.ts';
import type { Command } from './command.ts';
import { fetchExport } from './fetch-export.ts';

const help = `duskline export --url ADDRESS --token TOKEN (--last SPAN | --from TIME --to TIME) --out FILE [options]

Has a Duskline server make a package of readings, and fetches it. A download that breaks goes on where it was, also when
the command is run again; the checksum is compared at the end.
Address and token may also stand in DUSKLINE_URL and DUSKLINE_TOKEN. The token needs the permissions read and export.

  --last SPAN            12h, 7d, 4w: until now
  --from, --to TIME      2026-11-01 or 2026-11-01T06:00:00Z; days begin in UTC; --to is not in it any more (default: now)
  --out FILE             where to; “-” for standard output
  --sites A,B            ids of sites; else all
  --metrics A,B          keys such as batt_v; else all
  --format FORMAT        zip (the package), csv, parquet (the package with Parquet readings), ndjson
  --aggregate LENGTH     ${Object.keys(aggregateSeconds).join(', ')}
  --day DAY              civil or utc: which day 1d is
  --extremes             smallest and largest beside each mean
  --flags 1,2            quality flags that are taken
  --wide                 observations_wide.csv as well
  --local-time           a last column with the time of the site
  --spreadsheet          no file has more rows than a spreadsheet takes
  --positions HOW        blurred, exact or left-out
  --forecasts            forecasts.csv as well
  --names                names of people in events, gaps and README; else their roles
  --licence, --contact   texts for the README
  --estimate             only say how large it would be

Exit codes: 0 fetched and whole · 1 it failed · 2 the command line is not right · 130 stopped.`;

export const exportCommand: Command = {
  summary: 'fetch readings as a package, CSV, Parquet or NDJSON',
  help,
  async run(args, { terminal, environment, signal }) {
    const values = read(args);
    const url = values.url ?? environment['DUSKLINE_URL'];
    const token = values.token ?? environment['DUSKLINE_TOKEN'];
    if (url === undefined || url === '') throw usage('Say where the server is: --url.');
    if (token === undefined || token === '') throw usage('Say with which token: --token.');
    const query = queryOf(values, Date.now());
    const ask = askServer({ url, token });
    if (values.estimate === true) {
      const { rows, bytes, sites } = await ask<{ rows: number; bytes: number; sites: number }>(
        'POST',
        '/exports/estimate',
        query,
      );
      terminal.out(
        `About ${rows.toLocaleString('en-GB')} rows of ${sites} sites, ${(bytes / 1e6).toFixed(1)} MB.`,
      );
      return;
    }
    if (values.out === undefined) throw usage('Say where to: --out.');
    const said = saidBy(values, query);
    await fetchExport({ query, said, out: values.out, url, token }, { ask, terminal, signal });
  },
};

function read(args: readonly string[]) {
  const text = { type: 'string' } as const;
  const yes = { type: 'boolean' } as const;
  try {
    return parseArgs({
      args: [...args],
      options: {
        url: text,
        token: text,
        last: text,
        from: text,
        to: text,
        out: text,
        sites: text,
        metrics: text,
        format: text,
        aggregate: text,
        day: text,
        extremes: yes,
        flags: text,
        wide: yes,
        'local-time': yes,
        spreadsheet: yes,
        positions: text,
        forecasts: yes,
        names: yes,
        licence: text,
        contact: text,
        estimate: yes,
      },
    }).values;
  } catch (cause) {
    throw new CommandProblem(2, `${(cause as Error).message} “duskline export --help” says more.`, {
      cause,
    });
  }
}
type Values = ReturnType<typeof read>;

/** What was asked for, in the person's own words for time. */
function saidBy({ last, from, to }: Values, query: NewExportJson): string {
  return JSON.stringify([
    { last, from, to },
    { ...query, from: undefined, to: undefined },
  ]);
}

const usage = (message: string): CommandProblem =>
  new CommandProblem(2, `${message} “duskline export --help” says more.`);

/** What the command line asks for. Times are whole seconds: the same command within one asks for the same. */
export function queryOf(values: Values, nowMs: number): NewExportJson {
  const range = rangeOf(values, Math.floor(nowMs / 1000) * 1000);
  const metrics = values.metrics === undefined ? undefined : list(values.metrics).map(metricKey);
  const flags = values.flags === undefined ? undefined : list(values.flags).map(flagOf);
  const format = oneOf('format', values.format, exportFormats);
  const aggregate = oneOf(
    'aggregate',
    values.aggregate,
    Object.keys(aggregateSeconds) as (keyof typeof aggregateSeconds)[],
  );
  const day = oneOf('day', values.day, ['civil', 'utc'] as const);
  const positions = oneOf('positions', values.positions, positionChoices);
  const given = {
    ...range,
    sites: values.sites === undefined ? undefined : list(values.sites),
    metrics,
    format,
    aggregate,
    day,
    extremes: values.extremes,
    flags,
    wide: values.wide,
    localTime: values['local-time'],
    spreadsheet: values.spreadsheet,
    positions,
    forecasts: values.forecasts,
    names: values.names,
    licence: values.licence,
    contact: values.contact,
  };
  return Object.fromEntries(
    Object.entries(given).filter(([, value]) => value !== undefined),
  ) as unknown as NewExportJson;
}

const SPAN_MS = { h: 3_600_000, d: 86_400_000, w: 604_800_000 } as const;

function rangeOf({ last, from, to }: Values, nowMs: number): { from: string; to: string } {
  if ((last === undefined) === (from === undefined)) throw usage('Say --last, or --from and --to.');
  if (last !== undefined) {
    const found = /^([1-9]\d{0,4})([hdw])$/.exec(last);
    if (found === null || to !== undefined) throw usage('--last is 12h, 7d or 4w, without --to.');
    const ms = Number(found[1]) * SPAN_MS[found[2] as keyof typeof SPAN_MS];
    return { from: new Date(nowMs - ms).toISOString(), to: new Date(nowMs).toISOString() };
  }
  return {
    from: timeOf('from', from ?? ''),
    to: to === undefined ? new Date(nowMs).toISOString() : timeOf('to', to),
  };
}

function timeOf(option: string, text: string): string {
  const ms = /^\d{4}-\d{2}-\d{2}(T.+(Z|[+-]\d{2}:\d{2}))?$/.test(text) ? Date.parse(text) : NaN;
  if (Number.isNaN(ms))
    throw usage(`--${option} is a day like 2026-11-01, or a time like 2026-11-01T06:00:00Z.`);
  return new Date(ms).toISOString();
}

const list = (text: string): string[] =>
  text
    .split(',')
    .map((one) => one.trim())
    .filter((one) => one !== '');

function metricKey(text: string): NonNullable<NewExportJson['metrics']>[number] {
  const found = metricOf(text);
  if (found === undefined) throw usage(`“${text}” is no metric.`);
  return found;
}

function flagOf(text: string): number {
  const flag = Number(text);
  if (![1, 2, 3, 4].includes(flag)) throw usage('--flags has the numbers 1 to 4.');
  return flag;
}

function oneOf<T extends string>(
  option: string,
  value: string | undefined,
  words: readonly T[],
): T | undefined {
  if (value === undefined) return undefined;
  const found = words.find((word) => word === value);
  if (found === undefined) throw usage(`--${option} is ${words.join(' or ')}.`);
  return found;
}
