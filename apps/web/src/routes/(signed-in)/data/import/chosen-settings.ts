import type { CardDoubtJson, CardPreviewJson, CardSettingsJson } from '@duskline/contract';

type Settle = NonNullable<CardDoubtJson['settle']>;
type Column = CardPreviewJson['files'][number]['columns'][number];

/** The settings with the choice that somebody made about a doubt. */
export function withChoice(
  settings: CardSettingsJson,
  { setting, choices }: Settle,
  value: string,
): CardSettingsJson {
  if (setting !== 'realCodes') return { ...settings, [setting]: value };
  const code = Number(choices.find((choice) => !choice.value.startsWith('not '))?.value);
  const others = (settings.realCodes ?? []).filter((one) => one !== code);
  return { ...settings, realCodes: value.startsWith('not ') ? others : [...others, code] };
}

/** What the menu of a column has as its value: a metric, or what else the column is. */
export const columnValue = ({ use, metric }: Column): string => metric ?? use;

/** The settings with another use of a column. */
export function withColumn(
  settings: CardSettingsJson,
  heading: string,
  { value, unit }: { readonly value: string; readonly unit: string },
): CardSettingsJson {
  const others = (settings.columns ?? []).filter((column) => column.heading !== heading);
  const isPlain = ['time', 'date', 'clock', 'leave-out'].includes(value);
  type Use = NonNullable<CardSettingsJson['columns']>[number]['use'];
  const use = (isPlain ? value : { metric: value, unit }) as Use;
  return { ...settings, columns: [...others, { heading, use }] };
}

/** The columns of all files, each heading once. */
export function differentColumns(files: CardPreviewJson['files']): readonly Column[] {
  return [
    ...new Map(
      files.flatMap(({ columns }) => columns).map((column) => [column.heading, column]),
    ).values(),
  ];
}
