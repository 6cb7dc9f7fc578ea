import { metric } from '@duskline/domain';
import type { CardForm, CardSettings } from './card-form.ts';
import type { CardTally, LineExample } from './card-tally.ts';

/** What could be otherwise than it was understood, in words, and how to settle it. */
export interface CardDoubt {
  readonly code: string;
  readonly sentence: string;
  /** The setting that settles it, and what may be chosen. */
  readonly settle?: {
    readonly setting:
      'delimiter' | 'decimal' | 'zone' | 'dateOrder' | 'repeatedHour' | 'columns' | 'realCodes';
    readonly choices: readonly { readonly value: string; readonly label: string }[];
    readonly chosen: string;
  };
  readonly examples: readonly LineExample[];
  /** Nothing can be stored before it is settled. */
  readonly blocking: boolean;
}

export interface ReadFile {
  readonly name: string;
  readonly form: CardForm;
  readonly tally: CardTally;
}

interface Said {
  readonly file: ReadFile;
  readonly settings: CardSettings;
  /** " in log.csv", where there are several files. */
  readonly where: string;
}

const numbered = (count: number, one: string, more: string): string =>
  `${count.toLocaleString('en-GB')} ${count === 1 ? one : more}`;
const lines = (count: number): string => numbered(count, 'line', 'lines');
const are = (count: number): string => (count === 1 ? 'is' : 'are');
const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** Every doubt about the files, the ones that block first. */
export function cardDoubts(
  files: readonly ReadFile[],
  settings: CardSettings,
): readonly CardDoubt[] {
  const found = files.flatMap((file) => {
    const said: Said = { file, settings, where: files.length === 1 ? '' : ` in ${file.name}` };
    return [
      ...formDoubts(said),
      ...timeDoubts(said),
      ...orderDoubts(said),
      ...valueDoubts(said),
      ...leftOut(said),
    ];
  });
  const different = new Map(found.map((doubt) => [`${doubt.code} ${doubt.sentence}`, doubt]));
  return [...different.values()].sort((a, b) => Number(b.blocking) - Number(a.blocking));
}

const doubt = (
  code: string,
  sentence: string,
  rest: Partial<Omit<CardDoubt, 'code' | 'sentence'>> = {},
): CardDoubt => ({ code, sentence, examples: [], blocking: false, ...rest });

function formDoubts({ file: { form, tally }, where }: Said): CardDoubt[] {
  const uses = form.columns.map(({ use }) => use.kind);
  if (!uses.includes('time') && !uses.includes('date'))
    return [
      doubt(
        'no-time',
        `No column${where} was found that dates the lines: choose the one that has the time, or another mark between the cells.`,
        { blocking: true },
      ),
    ];
  if (!uses.includes('metric'))
    return [
      doubt(
        'no-metric',
        `No column${where} is known to hold readings${form.headingLine === undefined ? ', and there are no headings' : ''}: choose what each column is.`,
        { blocking: true },
      ),
    ];
  if (tally.rows === 0)
    return [
      doubt('no-rows', `Not one line${where} can be read as a sample.`, {
        blocking: true,
        examples: tally.unreadable.examples,
      }),
    ];
  return form.columns.flatMap((column) =>
    column.doubt === undefined
      ? []
      : [doubt('column', column.doubt + where.replace(' in ', ' — '))],
  );
}

function timeDoubts({ file: { form, tally }, settings, where }: Said): CardDoubt[] {
  const doubts: CardDoubt[] = [];
  const zones = [...new Set([form.zone, 'UTC'])];
  const settle = {
    setting: 'zone',
    choices: zones.map((value) => ({ value, label: value })),
    chosen: form.zone,
  } as const;
  if (tally.wallRows > 0 && form.zoneFrom === 'site')
    doubts.push(
      doubt(
        'zone-assumed',
        `The times${where} carry no offset. They are taken as local time of the site (${form.zone}): is the node's clock kept in it?`,
        {
          settle: {
            ...settle,
            choices: [
              ...settle.choices,
              ...(zones.length === 1 ? [{ value: 'Etc/GMT-1', label: 'UTC+1 all year' }] : []),
            ],
          },
        },
      ),
    );
  if (tally.skipped.count > 0)
    doubts.push(
      doubt(
        'hour-skipped',
        `${lines(tally.skipped.count)}${where} ${tally.skipped.count === 1 ? 'shows' : 'show'} a time that never was in ${form.zone}, because clocks were put forward over it: perhaps the node's clock keeps UTC. That hour is dated as if they had not been, and marked unsure.`,
        { settle, examples: tally.skipped.examples },
      ),
    );
  const open = [...tally.folds.values()].filter(({ seen }) => !seen);
  const openLines = open.reduce((sum, { count }) => sum + count, 0);
  if (open.length > 0)
    doubts.push(
      doubt(
        'hour-twice',
        `${lines(openLines)}${where} ${openLines === 1 ? 'lies' : 'lie'} in an hour that came twice in ${form.zone}, and the file does not show which is meant${settings.repeatedHour === undefined ? `; ${openLines === 1 ? 'it is' : 'they are'} marked unsure` : ''}.`,
        {
          settle: {
            setting: 'repeatedHour',
            choices: [
              { value: 'first', label: 'the first, before the clocks went back' },
              { value: 'second', label: 'the second, after they went back' },
            ],
            chosen: settings.repeatedHour ?? 'first',
          },
          examples: open.slice(0, 3).map(({ example }) => example),
        },
      ),
    );
  if (tally.backSteps > 0)
    doubts.push(
      doubt(
        'time-goes-back',
        `The time goes back ${tally.backSteps.toLocaleString('en-GB')} ${tally.backSteps === 1 ? 'time' : 'times'}${where}: the clock was set, or logs were joined. Each line keeps the time it has.`,
      ),
    );
  return doubts;
}

function orderDoubts({ file: { form, tally }, settings, where }: Said): CardDoubt[] {
  const { order } = tally;
  const settle = {
    setting: 'dateOrder',
    choices: [
      { value: 'day-first', label: 'day first: 3/4 is 3 April' },
      { value: 'month-first', label: 'month first: 3/4 is 4 March' },
    ],
    chosen: form.dateOrder,
  } as const;
  if (order.dayFirstProved && order.monthFirstProved)
    return [
      doubt(
        'date-order-mixed',
        `Some dates${where} can only be read day first and others only month first: say which holds; the others are left out.`,
        { settle, examples: order.examples, blocking: settings.dateOrder === undefined },
      ),
    ];
  if (order.open === 0 || order.dayFirstProved || order.monthFirstProved) return [];
  return [
    doubt(
      'date-order-open',
      `No date${where} tells day from month. They are read ${form.dateOrder === 'day-first' ? 'day' : 'month'} first, which gives ${day(tally.firstMs)} to ${day(tally.lastMs)}.`,
      { settle, examples: order.examples },
    ),
  ];
}

function valueDoubts({ file: { tally }, settings, where }: Said): CardDoubt[] {
  const doubts: CardDoubt[] = [...tally.codes.values()].map(({ metric: key, code, count }) =>
    doubt(
      'missing-code',
      `${metric(key).label} is ${code} ${count.toLocaleString('en-GB')} ${count === 1 ? 'time' : 'times'}${where}, which it cannot be: taken as “no value”.`,
      {
        settle: {
          setting: 'realCodes',
          choices: [
            { value: `not ${code}`, label: 'no value' },
            { value: String(code), label: 'a real value: store it' },
          ],
          chosen: (settings.realCodes ?? []).includes(code) ? String(code) : `not ${code}`,
        },
      },
    ),
  );
  if (tally.badCells.count > 0)
    doubts.push(
      doubt(
        'cells-unreadable',
        `${numbered(tally.badCells.count, 'cell', 'cells')}${where} ${are(tally.badCells.count)} neither a number nor “no value” and ${are(tally.badCells.count)} left out.`,
        { examples: tally.badCells.examples },
      ),
    );
  return doubts;
}

function leftOut({ file: { tally }, where }: Said): CardDoubt[] {
  const doubts: CardDoubt[] = [];
  if (tally.unreadable.count > 0 && tally.rows > 0)
    doubts.push(
      doubt(
        'lines-unreadable',
        `${lines(tally.unreadable.count)}${where} cannot be read (cut off, or no time) and ${are(tally.unreadable.count)} left out.`,
        { examples: tally.unreadable.examples },
      ),
    );
  if (tally.tooOld.count > 0)
    doubts.push(
      doubt(
        'clock-unset',
        `${lines(tally.tooOld.count)}${where} ${are(tally.tooOld.count)} dated before 2020 and left out: the clock was not set, and nothing says when ${tally.tooOld.count === 1 ? 'it was' : 'they were'}.`,
        { examples: tally.tooOld.examples },
      ),
    );
  if (tally.future.count > 0)
    doubts.push(
      doubt(
        'in-future',
        `${lines(tally.future.count)}${where} ${are(tally.future.count)} dated in the future and ${are(tally.future.count)} left out: look at the order of day and month, and at the clock.`,
        { examples: tally.future.examples },
      ),
    );
  return doubts;
}
