import { qualityTests, qualityWords, timeQualities } from '@duskline/domain';
import Type, { type Static } from 'typebox';

/** `GET /api/v1/sites/:id/readings?metric=…&from=…&to=…&points=…`: never more than `points` (≤ 2,000), gaps as gaps. */
export const ReadingsQuerySchema = Type.Object(
  {
    metric: Type.String(),
    from: Type.String({ format: 'date-time' }),
    to: Type.String({ format: 'date-time' }),
    points: Type.Optional(Type.Integer({ minimum: 2, maximum: 2000, default: 800 })),
    flags: Type.Optional(
      Type.String({
        pattern: '^(pass|not-evaluated|suspect|fail)(,(pass|not-evaluated|suspect|fail))*$',
        description:
          'Readings of which quality; without it those that are not doubted: pass,not-evaluated.',
        examples: ['suspect,fail'],
      }),
    ),
    times: Type.Optional(
      Type.Enum(['sure', 'unsure'], {
        description:
          'unsure: only readings whose time cannot be trusted, one by one whatever their flag. They are in no chart.',
      }),
    ),
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
        flag: Type.Optional(
          Type.Enum([...qualityWords], { description: 'Quality, of a single reading.' }),
        ),
        timeQuality: Type.Optional(
          Type.Enum([...timeQualities], {
            description: 'How far its time can be trusted, of a single reading.',
          }),
        ),
        failedTests: Type.Optional(
          Type.Array(Type.Enum([...qualityTests]), {
            description: 'Tests that found fault with it: see /api/v1/quality-rules.',
          }),
        ),
        receivedAt: Type.Optional(Type.String({ format: 'date-time' })),
        saidTimeS: Type.Optional(
          Type.Number({
            description:
              'The time by the node’s own clock, in seconds since 1970, where it was wrong.',
          }),
        ),
      }),
    ),
    flags: Type.Optional(
      Type.Array(Type.Enum([...qualityWords]), { description: 'What the points are made of.' }),
    ),
    leftOut: Type.Optional(
      Type.Object(
        { pass: Type.Integer(), suspect: Type.Integer(), fail: Type.Integer() },
        {
          description:
            'Readings of the range that other flags would show; pass counts the untested too.',
        },
      ),
    ),
  },
  { $id: 'Readings' },
);
export type ReadingsJson = Static<typeof ReadingsSchema>;
