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
