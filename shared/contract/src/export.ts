import { metricKeys } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

/** What is asked for; what is left out has the value that is said. */
export const NewExportSchema = Type.Object(
  {
    from: Type.String({ format: 'date-time', description: 'First instant.' }),
    to: Type.String({ format: 'date-time', description: 'First instant that is not in it.' }),
    sites: Type.Optional(
      Type.Array(Type.String({ maxLength: 60 }), {
        minItems: 1,
        maxItems: 10_000,
        description: 'Ids of sites; all of them when left out.',
      }),
    ),
    metrics: Type.Optional(
      Type.Array(Type.Enum([...metricKeys]), { minItems: 1, description: 'All when left out.' }),
    ),
    format: Type.Optional(
      Type.Enum(['zip', 'csv', 'parquet', 'ndjson'], {
        description: 'zip: the whole package. parquet: the package with Parquet readings.',
      }),
    ),
    aggregate: Type.Optional(
      Type.Enum(['1min', '5min', '10min', '15min', '30min', '1h', '3h', '6h', '12h', '1d'], {
        description: 'Length of intervals; readings as they are when left out.',
      }),
    ),
    day: Type.Optional(
      Type.Enum(['civil', 'utc'], { description: 'Which day 1d is: the site’s own, or of UTC.' }),
    ),
    extremes: Type.Optional(
      Type.Boolean({ description: 'Smallest and largest beside the mean of an interval.' }),
    ),
    flags: Type.Optional(
      Type.Array(Type.Integer({ minimum: 1, maximum: 4 }), {
        minItems: 1,
        maxItems: 4,
        description: 'Quality flags; all for readings, 1 and 2 for intervals when left out.',
      }),
    ),
    wide: Type.Optional(Type.Boolean({ description: 'observations_wide.csv as well (zip only).' })),
    localTime: Type.Optional(Type.Boolean({ description: 'A last column with the site’s time.' })),
    spreadsheet: Type.Optional(
      Type.Boolean({ description: 'No CSV file has more rows than a spreadsheet takes.' }),
    ),
    positions: Type.Optional(
      Type.Enum(['blurred', 'exact', 'left-out'], {
        description: 'Exact positions need the permission change-nodes.',
      }),
    ),
    forecasts: Type.Optional(Type.Boolean({ description: 'forecasts.csv as well.' })),
    names: Type.Optional(
      Type.Boolean({
        description: 'Names of people in events, gaps and README; their roles when left out.',
      }),
    ),
    licence: Type.Optional(Type.String({ maxLength: 200 })),
    contact: Type.Optional(Type.String({ maxLength: 200 })),
  },
  { $id: 'NewExport', additionalProperties: false },
);
export type NewExportJson = Static<typeof NewExportSchema>;

export const ExportEstimateSchema = Type.Object(
  {
    rows: Type.Integer({ description: 'Lines of the long form, about.' }),
    bytes: Type.Integer({ description: 'Of the file, about.' }),
    sites: Type.Integer(),
    fitsSpreadsheet: Type.Boolean({ description: 'One sheet takes all rows.' }),
  },
  { $id: 'ExportEstimate', additionalProperties: false },
);
export type ExportEstimateJson = Static<typeof ExportEstimateSchema>;

export const ExportSchema = Type.Object(
  {
    id: Type.Integer(),
    state: Type.Enum(['running', 'done', 'failed', 'stopped', 'expired']),
    by: Type.String(),
    query: NewExportSchema,
    version: Type.Integer({ description: 'Counts the exports of the same query.' }),
    madeAt: instant,
    finishedAt: nullable(instant),
    expiresAt: instant,
    fileName: Type.String(),
    citation: Type.String(),
    progress: nullable(
      Type.Object({ rows: Type.Integer(), ratio: Type.Number({ minimum: 0, maximum: 1 }) }),
    ),
    rows: nullable(Type.Integer()),
    bytes: nullable(Type.Integer()),
    sha256: nullable(Type.String()),
    note: nullable(Type.String({ description: 'Why it failed or was stopped.' })),
  },
  { $id: 'Export', additionalProperties: false },
);
export type ExportJson = Static<typeof ExportSchema>;

export const ExportListSchema = Type.Object(
  { exports: Type.Array(ExportSchema) },
  { $id: 'ExportList', additionalProperties: false },
);
export type ExportListJson = Static<typeof ExportListSchema>;

const share = Type.Object({
  hours: Type.Number(),
  ratio: Type.Number({ description: 'Of the time that counts, 0–1.' }),
});

/** Where the time of a site went. The parts add up to the whole. */
export const AvailabilitySchema = Type.Object(
  {
    from: instant,
    to: instant,
    warning: Type.String(),
    fleet: Type.Object({
      up: share,
      sites: Type.Integer({ description: 'That count: they have been heard.' }),
      neverHeard: Type.Integer({ description: 'Sites with a node that has never been heard.' }),
    }),
    sites: Type.Array(
      Type.Object({
        id: Type.String(),
        name: Type.String(),
        node: nullable(Type.String()),
        timeZone: Type.String(),
        since: Type.String({
          format: 'date-time',
          description:
            'Counted from here: the start of the period, or when the node was put up in it.',
        }),
        up: share,
        darkAsDesigned: share,
        fault: share,
        link: share,
        clock: share,
        work: share,
        unknown: share,
        accepted: Type.Array(
          Type.Object({
            from: instant,
            to: instant,
            by: Type.String(),
            reason: Type.String(),
            hours: Type.Number({ description: 'Of gaps within it.' }),
          }),
        ),
      }),
    ),
  },
  { $id: 'Availability', additionalProperties: false },
);
export type AvailabilityJson = Static<typeof AvailabilitySchema>;
