import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

export const learntPartNames = ['panel', 'battery', 'load', 'weather'] as const;

/** One thing an outlook has learnt of a node: never without its band. */
export const LearntFigureSchema = Type.Object(
  {
    part: Type.Enum([...learntPartNames]),
    name: Type.String({ description: 'What was learnt, in words.' }),
    value: Type.Number(),
    low: Type.Number({ description: '10 % end of the band.' }),
    high: Type.Number({ description: '90 % end of the band.' }),
    unit: Type.String(),
    fromDays: Type.Number({ description: 'Days of readings behind it.' }),
    sureness: Type.Enum(['assumed', 'weak', 'fair', 'firm']),
    how: Type.String(),
  },
  { $id: 'LearntFigure' },
);
export type LearntFigureJson = Static<typeof LearntFigureSchema>;

const degrees = (description: string) => Type.Number({ description });

/** Where something stands between sun and panel, on the way the sun takes through the year. */
export const ShadeMapSchema = Type.Object(
  {
    bins: Type.Array(
      Type.Object({
        season: Type.Integer({
          minimum: 0,
          maximum: 5,
          description: 'Two months: 0 January and February … 5 November and December.',
        }),
        azimuthDeg: degrees('Lower edge, from north clockwise; 15° wide.'),
        lowDeg: degrees('Least elevation of the sun there in these months.'),
        highDeg: degrees('Greatest elevation.'),
        shadeRatio: Type.Number({
          minimum: 0,
          maximum: 1,
          description: 'What is left of the best hours; 1: no shade found.',
        }),
        hours: Type.Number({ description: 'Bright hours behind it.' }),
      }),
      { description: 'Only where bright hours were seen.' },
    ),
    paths: Type.Array(
      Type.Object({
        on: Type.String({ description: 'Day of the year, as 12-21.' }),
        azimuthDeg: Type.Array(Type.Number()),
        elevationDeg: Type.Array(Type.Number()),
      }),
      { description: 'The way of the sun on some days.' },
    ),
  },
  { $id: 'ShadeMap' },
);
export type ShadeMapJson = Static<typeof ShadeMapSchema>;

/** `GET /api/v1/nodes/:name/learnt`. */
export const LearntSchema = Type.Object(
  {
    node: Type.String(),
    learntAt: nullable(instant),
    figures: Type.Array(LearntFigureSchema),
    remarks: Type.Array(Type.String(), {
      description: 'What stood out: a panel that gives less, a load that changed.',
    }),
    since: Type.Array(Type.Object({ part: Type.Enum([...learntPartNames]), since: instant }), {
      description: 'Parts learnt anew, and from when on.',
    }),
    shade: Type.Optional(ShadeMapSchema),
    resets: Type.Array(
      Type.Object({
        part: Type.String(),
        since: instant,
        at: instant,
        by: Type.String(),
        why: Type.String(),
      }),
    ),
  },
  { $id: 'Learnt' },
);
export type LearntJson = Static<typeof LearntSchema>;

export const LearntResetSchema = Type.Object(
  {
    part: Type.Enum([...learntPartNames]),
    since: Type.Optional(instant),
    why: Type.String({ minLength: 1, maxLength: 400 }),
  },
  {
    $id: 'LearntReset',
    additionalProperties: false,
    description: 'Only what was read from `since` (default: now) on counts for that part.',
  },
);
export type LearntResetJson = Static<typeof LearntResetSchema>;
