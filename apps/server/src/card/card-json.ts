import type { CardImportJson, CardPreviewJson, CardSettingsJson } from '@duskline/contract';
import { metric, metricKeys } from '@duskline/domain';
import {
  cardDoubts,
  cardUnits,
  usualStepMs,
  type CardDoubt,
  type CardForm,
  type CardSettings,
} from '@duskline/intake';
import type { CardCounts, CardImport } from '@duskline/store';
import type { ReadText } from './read-card.ts';

/** What the store is asked of lines spread over the files. */
export interface CardLook {
  readonly looked: number;
  readonly expected: CardCounts;
  /** What else should be said. */
  readonly doubts: readonly CardDoubt[];
}

const columnChoices = metricKeys.map((key) => ({
  metric: key,
  label: metric(key).label,
  units: [...cardUnits(key)],
}));
const PREVIEW_ROWS = 8;
const instant = (ms: number): string => new Date(ms).toISOString();

export function previewJson(
  texts: readonly ReadText[],
  settings: CardSettings,
  { looked, expected, doubts }: CardLook,
): CardPreviewJson {
  const tallies = texts.map(({ tally }) => tally);
  const sum = (value: (tally: ReadText['tally']) => number): number =>
    tallies.reduce((total, tally) => total + value(tally), 0);
  const samples = sum(({ rows }) => rows);
  const first = tallies.find((tally) => tally.rows > 2);
  const stepMs = first === undefined ? undefined : usualStepMs(first);
  const files = texts.map(({ plan, tally }) => ({ name: plan.name, form: plan.form, tally }));
  return {
    files: texts.map(({ plan: { name, form }, tally }) => ({
      name,
      delimiter: form.delimiter,
      decimal: form.decimal,
      zone: form.zone,
      zoneFrom: form.zoneFrom,
      dateOrder: form.dateOrder,
      lines: tally.lines,
      samples: tally.rows,
      columns: form.columns.map(columnJson),
    })),
    lines: sum(({ lines }) => lines),
    samples,
    readings: sum(({ readings }) => readings),
    missingCells: sum(({ missingCells }) => missingCells),
    fromAt: samples === 0 ? null : instant(Math.min(...tallies.map(({ firstMs }) => firstMs))),
    toAt: samples === 0 ? null : instant(Math.max(...tallies.map(({ lastMs }) => lastMs))),
    usualStepS: stepMs === undefined ? null : stepMs / 1000,
    rows: tallies
      .flatMap(({ preview }) => preview)
      .slice(0, PREVIEW_ROWS)
      .map(({ line, text, atMs, readings }) => ({
        line,
        text,
        at: instant(atMs),
        readings: readings.map(({ metric: key, value }) => ({
          metric: key,
          label: metric(key).label,
          value,
          unit: metric(key).unit,
        })),
      })),
    doubts: [...cardDoubts(files, settings), ...doubts].map(
      ({ code, sentence, blocking, examples, settle }) => ({
        code,
        sentence,
        blocking,
        examples: examples.map(({ line, text }) => ({ line, text })),
        settle: settle === undefined ? null : { ...settle, choices: [...settle.choices] },
      }),
    ),
    metrics: columnChoices,
    looked,
    expected: { ...expected },
  };
}

const columnJson = ({ heading, use }: CardForm['columns'][number]) => ({
  heading,
  use: use.kind,
  metric: use.kind === 'metric' ? use.metric : null,
  unit: use.kind === 'metric' ? use.unit : null,
});

/** What a person said, as the reader of cards has it. */
export function settingsFrom({ columns, ...rest }: CardSettingsJson): CardSettings {
  return {
    ...rest,
    ...(columns === undefined
      ? {}
      : {
          columns: columns.map(({ heading, use }) => ({
            heading,
            use:
              typeof use === 'string'
                ? { kind: use }
                : { kind: 'metric', metric: use.metric, unit: use.unit },
          })),
        }),
  };
}

export function cardImportJson(
  entry: CardImport,
  rest: Pick<CardImportJson, 'stage' | 'note' | 'progress' | 'preview'> & {
    readonly received: readonly number[];
  },
): CardImportJson {
  const { received, ...job } = rest;
  return {
    id: entry.id,
    node: entry.node,
    siteName: entry.siteName,
    siteZone: entry.siteZone,
    by: entry.by,
    createdAt: instant(entry.createdAtMs),
    files: entry.files.map(({ name, bytes }, place) => ({
      name,
      bytes,
      received: received[place] ?? 0,
    })),
    counts: { ...entry.counts },
    ...job,
  };
}
