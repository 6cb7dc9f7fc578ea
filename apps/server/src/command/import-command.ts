import type { CardSettingsJson, SitePageJson } from '@duskline/contract';
import { metricOf } from '@duskline/domain';
import { cardUnits, isZone, unitScale } from '@duskline/intake';
import { parseArgs } from 'node:util';
import { askServer, type AskServer } from './ask-server.ts';
import { CommandProblem } from './command-problem.ts';
import { importCards } from './import-cards.ts';
import type { Command } from './command.ts';

const help = `duskline import --url ADDRESS --token TOKEN (--node NAME | --site ID) [options] FILE…

Brings the text files of a node's memory card to a Duskline server: text, gzip or zip, however they are written.
Address and token may also stand in DUSKLINE_URL and DUSKLINE_TOKEN. The token needs the permissions read and change-nodes.

  --dry-run              say how the files are understood, store nothing
  --zone ZONE            of times without an offset, e.g. Europe/London or UTC; else the site's
  --delimiter MARK       between cells: , ; | tab space
  --decimal MARK         . or ,
  --date-order ORDER     day-first or month-first
  --repeated-hour WHICH  first or second, of the hour that comes twice in autumn
  --column HEADING=USE   USE: time, date, clock, leave-out, or METRIC[:UNIT], e.g. "U bat=batt_v:mV"; may be repeated
  --real-code=NUMBER     a number such as -999 that is a value all the same; may be repeated

Exit codes: 0 stored (or understood, with --dry-run) · 1 it failed · 2 the command line is not right ·
3 something must be settled first · 130 stopped. Files that were brought before are brought again without harm.`;

export const importCommand: Command = {
  summary: 'bring the files of a memory card',
  help,
  async run(args, { terminal, environment, signal }) {
    const { values, positionals } = read(args);
    const url = values.url ?? environment['DUSKLINE_URL'];
    const token = values.token ?? environment['DUSKLINE_TOKEN'];
    if (url === undefined || url === '') throw usage('Say where the server is: --url.');
    if (token === undefined || token === '') throw usage('Say with which token: --token.');
    if (positionals.length === 0) throw usage('Name the files to bring.');
    const settings = settingsOf(values);
    const ask = askServer({ url, token });
    const node = await nodeOf(values, ask);
    const dryRun = values['dry-run'] ?? false;
    await importCards({ node, files: positionals, settings, dryRun }, { ask, terminal, signal });
  },
};

function read(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        url: { type: 'string' },
        token: { type: 'string' },
        node: { type: 'string' },
        site: { type: 'string' },
        zone: { type: 'string' },
        delimiter: { type: 'string' },
        decimal: { type: 'string' },
        'date-order': { type: 'string' },
        'repeated-hour': { type: 'string' },
        column: { type: 'string', multiple: true },
        'real-code': { type: 'string', multiple: true },
        'dry-run': { type: 'boolean' },
      },
    });
  } catch (cause) {
    throw new CommandProblem(2, `${(cause as Error).message} “duskline import --help” says more.`, {
      cause,
    });
  }
}
type Values = ReturnType<typeof read>['values'];

const usage = (message: string): CommandProblem =>
  new CommandProblem(2, `${message} “duskline import --help” says more.`);

async function nodeOf({ node, site }: Values, ask: AskServer): Promise<string> {
  if ((node === undefined) === (site === undefined)) throw usage('Say --node or --site.');
  if (node !== undefined) return node;
  const page = await ask<SitePageJson>('GET', `/sites/${encodeURIComponent(site ?? '')}`);
  if (page.row.site.node === null)
    throw new CommandProblem(1, `${page.row.site.name} has no node yet.`);
  return page.row.site.node;
}

const marks: Readonly<Record<string, NonNullable<CardSettingsJson['delimiter']>>> = {
  ',': ',',
  ';': ';',
  '|': '|',
  tab: '\t',
  space: ' ',
};

function settingsOf(values: Values): CardSettingsJson {
  const { zone, delimiter } = values;
  if (zone !== undefined && !isZone(zone)) throw usage(`There is no time zone “${zone}”.`);
  const mark = delimiter === undefined ? undefined : marks[delimiter];
  if (delimiter !== undefined && mark === undefined)
    throw usage('--delimiter is one of , ; | tab space.');
  const decimal = oneOf('decimal', values.decimal, ['.', ','] as const);
  const dateOrder = oneOf('date-order', values['date-order'], [
    'day-first',
    'month-first',
  ] as const);
  const repeatedHour = oneOf('repeated-hour', values['repeated-hour'], [
    'first',
    'second',
  ] as const);
  const columns = values.column?.map(columnOf);
  const realCodes = values['real-code']?.map(numberOf);
  return {
    ...(zone === undefined ? {} : { zone }),
    ...(mark === undefined ? {} : { delimiter: mark }),
    ...(decimal === undefined ? {} : { decimal }),
    ...(dateOrder === undefined ? {} : { dateOrder }),
    ...(repeatedHour === undefined ? {} : { repeatedHour }),
    ...(columns === undefined ? {} : { columns }),
    ...(realCodes === undefined ? {} : { realCodes }),
  };
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

function numberOf(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw usage(`“${text}” is no number.`);
  return value;
}

function columnOf(text: string): NonNullable<CardSettingsJson['columns']>[number] {
  const at = text.lastIndexOf('=');
  if (at < 1) throw usage(`--column is HEADING=USE, not “${text}”.`);
  const [heading, use] = [text.slice(0, at), text.slice(at + 1)];
  const plain = (['time', 'date', 'clock', 'leave-out'] as const).find((word) => word === use);
  if (plain !== undefined) return { heading, use: plain };
  const [key = '', unit] = use.split(':');
  const metric = metricOf(key);
  if (metric === undefined) throw usage(`“${key}” is no metric.`);
  const units = cardUnits(metric);
  if (unit !== undefined && unitScale(metric, unit) === undefined)
    throw usage(`${metric} comes in ${units.join(', ')}, not in “${unit}”.`);
  return { heading, use: { metric, unit: unit ?? units[0] ?? '' } };
}
