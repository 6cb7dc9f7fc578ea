import { metricKeys } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const nullable = <T extends ReturnType<typeof Type.String>>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const instant = Type.String({ format: 'date-time' });

/** What a column is used for, by its heading. */
const columnUse = Type.Object(
  {
    heading: Type.String({ maxLength: 200 }),
    use: Type.Union(
      [
        Type.Enum(['time', 'date', 'clock', 'leave-out']),
        Type.Object(
          { metric: Type.Enum([...metricKeys]), unit: Type.String({ maxLength: 20 }) },
          { additionalProperties: false },
        ),
      ],
      { description: 'A metric and the unit its numbers stand in, or what else the column is.' },
    ),
  },
  { additionalProperties: false },
);

/** What a person says of the files; what is not said is guessed. */
export const CardSettingsSchema = Type.Object(
  {
    delimiter: Type.Optional(Type.Enum([',', ';', '\t', '|', ' '])),
    decimal: Type.Optional(Type.Enum(['.', ','])),
    zone: Type.Optional(
      Type.String({ maxLength: 60, description: 'IANA name of the zone of times without offset.' }),
    ),
    dateOrder: Type.Optional(Type.Enum(['day-first', 'month-first'])),
    repeatedHour: Type.Optional(Type.Enum(['first', 'second'])),
    columns: Type.Optional(Type.Array(columnUse, { maxItems: 200 })),
    realCodes: Type.Optional(
      Type.Array(Type.Number(), {
        maxItems: 50,
        description: 'Numbers such as -999 that look like “no value” and are values.',
      }),
    ),
  },
  { $id: 'CardSettings', additionalProperties: false },
);
export type CardSettingsJson = Static<typeof CardSettingsSchema>;

export const NewCardImportSchema = Type.Object(
  {
    node: Type.String({ pattern: '^[a-z0-9-]{3,40}$', description: 'The node the card was in.' }),
    files: Type.Array(
      Type.Object(
        {
          name: Type.String({ minLength: 1, maxLength: 255 }),
          bytes: Type.Integer({ minimum: 0, maximum: 200_000_000 }),
        },
        { additionalProperties: false },
      ),
      { minItems: 1, maxItems: 100 },
    ),
  },
  { $id: 'NewCardImport', additionalProperties: false },
);
export type NewCardImportJson = Static<typeof NewCardImportSchema>;

const example = Type.Object({ line: Type.Integer(), text: Type.String() });

const doubt = Type.Object({
  code: Type.String(),
  sentence: Type.String(),
  blocking: Type.Boolean({ description: 'Nothing can be stored before it is settled.' }),
  examples: Type.Array(example),
  settle: Type.Union([
    Type.Object({
      setting: Type.String({ description: 'The setting that settles it.' }),
      choices: Type.Array(Type.Object({ value: Type.String(), label: Type.String() })),
      chosen: Type.String(),
    }),
    Type.Null(),
  ]),
});

const counts = Type.Object({
  filled: Type.Integer({ description: 'Readings that are new.' }),
  here: Type.Integer({ description: 'Readings that are stored already with the same value.' }),
  conflicts: Type.Integer({
    description: 'Readings stored already with another value: that one is kept, both are listed.',
  }),
  repeated: Type.Integer({ description: 'Readings the files themselves say twice.' }),
});

const preview = Type.Object({
  files: Type.Array(
    Type.Object({
      name: Type.String(),
      delimiter: Type.String(),
      decimal: Type.String(),
      zone: Type.String(),
      zoneFrom: Type.String(),
      dateOrder: Type.String(),
      lines: Type.Integer(),
      samples: Type.Integer(),
      columns: Type.Array(
        Type.Object({
          heading: Type.String(),
          use: Type.String({ description: 'time, date, clock, leave-out or metric.' }),
          metric: nullable(Type.String()),
          unit: nullable(Type.String()),
        }),
      ),
    }),
  ),
  lines: Type.Integer(),
  samples: Type.Integer(),
  readings: Type.Integer(),
  missingCells: Type.Integer(),
  fromAt: nullable(instant),
  toAt: nullable(instant),
  usualStepS: Type.Union([Type.Number(), Type.Null()]),
  rows: Type.Array(
    Type.Object({
      line: Type.Integer(),
      text: Type.String(),
      at: instant,
      readings: Type.Array(
        Type.Object({
          metric: Type.String(),
          label: Type.String(),
          value: Type.Number(),
          unit: Type.String(),
        }),
      ),
    }),
  ),
  doubts: Type.Array(doubt),
  metrics: Type.Array(
    Type.Object({ metric: Type.String(), label: Type.String(), units: Type.Array(Type.String()) }),
    { description: 'What a column can be, and in which units.' },
  ),
  looked: Type.Integer({
    description: 'Lines spread over the files that were held against the store.',
  }),
  expected: counts,
});

export const CardImportSchema = Type.Object(
  {
    id: Type.Integer(),
    node: Type.String(),
    siteName: Type.String(),
    siteZone: Type.String(),
    by: Type.String(),
    createdAt: instant,
    stage: Type.Enum(['bringing', 'reading', 'ready', 'storing', 'done', 'stopped', 'refused'], {
      description:
        'Files are being brought; they are being read; they are understood and nothing is stored; stored is under way; all is stored; it ended before; the files cannot be used.',
    }),
    note: nullable(Type.String()),
    files: Type.Array(
      Type.Object({ name: Type.String(), bytes: Type.Integer(), received: Type.Integer() }),
    ),
    progress: Type.Union([
      Type.Object({ lines: Type.Integer(), ratio: Type.Number({ minimum: 0, maximum: 1 }) }),
      Type.Null(),
    ]),
    counts,
    preview: Type.Union([preview, Type.Null()]),
  },
  { $id: 'CardImport' },
);
export type CardImportJson = Static<typeof CardImportSchema>;
export type CardPreviewJson = NonNullable<CardImportJson['preview']>;
export type CardDoubtJson = CardPreviewJson['doubts'][number];

export const CardImportListSchema = Type.Object(
  { imports: Type.Array(CardImportSchema) },
  { $id: 'CardImportList' },
);
export type CardImportListJson = Static<typeof CardImportListSchema>;

export const CardPieceSchema = Type.Object(
  { received: Type.Integer({ description: 'Bytes of the file that are here: go on from there.' }) },
  { $id: 'CardPiece' },
);
export type CardPieceJson = Static<typeof CardPieceSchema>;

export const CardConflictsSchema = Type.Object(
  {
    conflicts: Type.Array(
      Type.Object({
        metric: Type.String(),
        label: Type.String(),
        unit: Type.String(),
        at: instant,
        kept: Type.Number(),
        card: Type.Number(),
      }),
    ),
  },
  { $id: 'CardConflicts' },
);
export type CardConflictsJson = Static<typeof CardConflictsSchema>;
