import type { MetricKey } from '@duskline/domain';

/** What may stand between two cells of a line. */
export const delimiters = [',', ';', '\t', '|', ' '] as const;
export type Delimiter = (typeof delimiters)[number];

export type DecimalMark = '.' | ',';

/** How 3/4/2026 is to be read. A date that begins with its year needs no telling. */
export type DateOrder = 'day-first' | 'month-first';

/** What a column is used for. `unit` is one that card-units.ts knows for that metric. */
export type ColumnUse =
  | { readonly kind: 'time' | 'date' | 'clock' | 'leave-out' }
  | { readonly kind: 'metric'; readonly metric: MetricKey; readonly unit: string };

export interface CardColumn {
  /** As the file has it, or "column 3" where it has no headings. */
  readonly heading: string;
  readonly use: ColumnUse;
  /** A doubt about the use that was guessed, in words. */
  readonly doubt?: string;
}

/** How one file is written. */
export interface CardForm {
  readonly delimiter: Delimiter;
  readonly decimal: DecimalMark;
  /** Lines before the first one of data: titles, headings, units. */
  readonly dataFrom: number;
  readonly columns: readonly CardColumn[];
  readonly dateOrder: DateOrder;
  /** IANA name of the zone of times that carry no offset. */
  readonly zone: string;
  /** Where the zone comes from. */
  readonly zoneFrom: 'chosen' | 'said in the file' | 'heading' | 'site';
  /** The heading line as it stands in the file, to know it again further down. */
  readonly headingLine?: string;
}

/** What a person has said about the files; what is not said is guessed. */
export interface CardSettings {
  readonly delimiter?: Delimiter;
  readonly decimal?: DecimalMark;
  readonly zone?: string;
  readonly dateOrder?: DateOrder;
  /** Which of the two hours that a clock shows twice in autumn, where the file does not tell. */
  readonly repeatedHour?: 'first' | 'second';
  /** By heading, in all files. */
  readonly columns?: readonly { readonly heading: string; readonly use: ColumnUse }[];
  /** Numbers that look like "no value" and are values all the same. */
  readonly realCodes?: readonly number[];
}
