import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const share = (description: string) =>
  Type.Number({ exclusiveMinimum: 0, exclusiveMaximum: 1, description });
const factor = (description: string) =>
  Type.Number({ exclusiveMinimum: 1, maximum: 10, description });

/** `POST /api/v1/nodes/:name/what-if`: one change, in the weathers of the outlook. */
export const WhatIfSchema = Type.Union(
  [
    Type.Object(
      { kind: Type.Enum(['log-less', 'less-at-night']), savedShare: share('Of the load, 0–1.') },
      { additionalProperties: false },
    ),
    Type.Object(
      {
        kind: Type.Enum(['clean-panel', 'bigger-panel', 'bigger-battery']),
        factor: factor('So many times the harvest, the panel or the battery.'),
      },
      { additionalProperties: false },
    ),
    Type.Object(
      { kind: Type.Enum(['tilt']), tiltDeg: Type.Number({ minimum: 0, maximum: 90 }) },
      { additionalProperties: false },
    ),
  ],
  { $id: 'WhatIf' },
);
export type WhatIfJson = Static<typeof WhatIfSchema>;

const gain = Type.Object({
  p10: Type.Number(),
  p50: Type.Number(),
  p90: Type.Number(),
  mean: Type.Number(),
});

/** What one change would do. */
export const WhatIfAnswerSchema = Type.Object(
  {
    kind: Type.String(),
    gainedDays: Type.Union([gain, Type.Null()], {
      description:
        'Days later empty, or sooner back once dark, over the futures it matters to. Null: it matters to none.',
    }),
    isAtLeast: Type.Boolean({ description: 'Some futures then outlast the horizon.' }),
    concernedShare: Type.Number({ description: 'Share of the futures it matters to.' }),
    darkWithin14DaysBefore: Type.Number(),
    darkWithin14DaysAfter: Type.Number(),
    sentence: Type.String(),
    caution: Type.Union([Type.String(), Type.Null()]),
  },
  { $id: 'WhatIfAnswer' },
);
export type WhatIfAnswerJson = Static<typeof WhatIfAnswerSchema>;

const missing = Type.Union([Type.String(), Type.Null()], {
  description: 'Why nothing can be said; null when it can.',
});

/** `GET /api/v1/nodes/:name/what-helps`. */
export const WhatHelpsSchema = Type.Object(
  {
    at: instant,
    helps: Type.Array(WhatIfAnswerSchema, { description: 'The most helpful first.' }),
    assumes: Type.String(),
    missing,
  },
  { $id: 'WhatHelps' },
);
export type WhatHelpsJson = Static<typeof WhatHelpsSchema>;

/** `GET /api/v1/nodes/:name/season`. */
export const SeasonSchema = Type.Object(
  {
    at: instant,
    months: Type.Array(
      Type.Object({
        month: Type.String({ description: 'Calendar month in UTC, as 2026-12.' }),
        darkProbability: Type.Number({ minimum: 0, maximum: 1 }),
        darkDays: Type.Number({ minimum: 0, description: 'Mean days dark in the month.' }),
        days: Type.Number({ description: 'Days of the month that are looked at.' }),
      }),
      { description: 'A year from now; the first and last month may be cut.' },
    ),
    sentence: Type.String(),
    missing,
  },
  { $id: 'Season' },
);
export type SeasonJson = Static<typeof SeasonSchema>;
