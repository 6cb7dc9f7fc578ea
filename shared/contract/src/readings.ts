import Type, { type Static } from 'typebox';

/** `GET /api/v1/sites/:id/readings?metric=…&from=…&to=…&points=…`: never more than `points` (≤ 2,000), gaps as gaps. */
export const ReadingsQuerySchema = Type.Object(
  {
    metric: Type.String(),
    from: Type.String({ format: 'date-time' }),
    to: Type.String({ format: 'date-time' }),
    points: Type.Optional(Type.Integer({ minimum: 2, maximum: 2000, default: 800 })),
  },
  { $id: 'ReadingsQuery', additionalProperties: false },
);
export type ReadingsQuery = Static<typeof ReadingsQuerySchema>;

export const ReadingsSchema = Type.Object(
  {
    metric: Type.String(),
    label: Type.String(),
    unit: Type.String(),
    source: Type.Enum(['raw', 'hour', 'day'], { description: 'What the points are made of.' }),
    stepS: Type.Integer({ description: 'Width of one point; 0 for raw readings.' }),
    gapS: Type.Number({ description: 'Points further apart than this are not joined.' }),
    points: Type.Array(
      Type.Object({
        at: Type.String({ format: 'date-time', description: 'Start of the step.' }),
        mean: Type.Number(),
        min: Type.Number(),
        max: Type.Number(),
        count: Type.Integer(),
      }),
    ),
  },
  { $id: 'Readings' },
);
export type ReadingsJson = Static<typeof ReadingsSchema>;
