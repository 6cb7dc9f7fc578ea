import { csvCell, type CellKind } from '../csv-text.ts';

export type Cell = string | number | null | undefined;

/** A field as Table Schema (Data Package v2) knows it; `unit` is a property of ours, for the standard has none. */
export interface Field {
  readonly name: string;
  readonly type: 'string' | 'number' | 'integer' | 'datetime' | 'boolean';
  readonly description: string;
  readonly unit?: string;
  /** Written by people: guarded against spreadsheets that run it. */
  readonly text?: true;
  readonly categories?: readonly { readonly value: number; readonly label: string }[];
  readonly constraints?: Readonly<Record<string, unknown>>;
}

/** One file of the package that is no reading: small enough to be made whole. */
export interface Table {
  /** Of the file, without ending. */
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly fields: readonly Field[];
  readonly primaryKey?: readonly string[];
  readonly foreignKeys?: readonly ForeignKey[];
  readonly rows: readonly (readonly Cell[])[];
}

export interface ForeignKey {
  readonly fields: readonly string[];
  readonly reference: { readonly resource: string; readonly fields: readonly string[] };
}

/** The table as CSV: RFC 4180, CRLF, a heading of one line. */
export function tableCsv({ fields, rows }: Pick<Table, 'fields' | 'rows'>): string {
  const kinds: readonly CellKind[] = fields.map(({ text }) => (text === true ? 'text' : 'plain'));
  const lines = rows.map((row) =>
    row.map((cell, i) => csvCell(cell, kinds[i] ?? 'text')).join(','),
  );
  return [fields.map(({ name }) => name).join(','), ...lines, ''].join('\r\n');
}

export const field = (
  name: string,
  type: Field['type'],
  description: string,
  more: Omit<Field, 'name' | 'type' | 'description'> = {},
): Field => ({ name, type, description, ...more });

export const toSite: ForeignKey = {
  fields: ['site_id'],
  reference: { resource: 'sites', fields: ['site_id'] },
};
