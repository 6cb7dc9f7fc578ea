import Type, { type Static } from 'typebox';
import { OutlookSchema } from './outlook.ts';

const instant = Type.String({ format: 'date-time' });
const daysOrNull = (description: string) =>
  Type.Union([Type.Number(), Type.Null()], { description });

/** `POST /api/v1/nodes/:name/what-if`: what is left out stays as it is. */
export const WhatIfSchema = Type.Object(
  {
    panelW: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 5000 })),
    panelTiltDeg: Type.Optional(Type.Number({ minimum: 0, maximum: 90 })),
    panelAzimuthDeg: Type.Optional(Type.Number({ minimum: 0, maximum: 360 })),
    batteryWh: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 50_000 })),
    loadFactor: Type.Optional(
      Type.Number({ minimum: 0.05, maximum: 10, description: 'The load times this.' }),
    ),
    nightLoadFactor: Type.Optional(
      Type.Number({ minimum: 0.05, maximum: 10, description: 'The load by night times this.' }),
    ),
    harvestFactor: Type.Optional(
      Type.Number({ minimum: 0.05, maximum: 10, description: 'The harvest times this.' }),
    ),
  },
  { $id: 'WhatIf', additionalProperties: false, minProperties: 1 },
);
export type WhatIfJson = Static<typeof WhatIfSchema>;

export const WhatIfAnswerSchema = Type.Object(
  {
    asItIs: OutlookSchema,
    changed: OutlookSchema,
    gainedDays: daysOrNull(
      'Days gained, mean over the same weathers, counted to the horizon. Null: it cannot be told.',
    ),
  },
  { $id: 'WhatIfAnswer' },
);
export type WhatIfAnswerJson = Static<typeof WhatIfAnswerSchema>;

/** `GET /api/v1/nodes/:name/what-helps`. */
export const WhatHelpsSchema = Type.Object(
  {
    issuedAt: instant,
    horizonDays: Type.Number(),
    helps: Type.Array(
      Type.Object({
        kind: Type.String(),
        sentence: Type.String({ description: 'What to do, in words.' }),
        gainedDays: daysOrNull('Days gained, mean over the same weathers, to the horizon.'),
        darkWithin7DaysProbability: daysOrNull('Chance of dark within 7 days with it.'),
      }),
      { description: 'The most helpful first.' },
    ),
    missing: Type.Union([Type.String(), Type.Null()], {
      description: 'Why nothing can be said; null when it can.',
    }),
  },
  { $id: 'WhatHelps' },
);
export type WhatHelpsJson = Static<typeof WhatHelpsSchema>;

/** `GET /api/v1/nodes/:name/season`. */
export const SeasonSchema = Type.Object(
  {
    issuedAt: instant,
    months: Type.Array(
      Type.Object({
        start: instant,
        darkProbability: Type.Number({ minimum: 0, maximum: 1 }),
        darkDays: Type.Number({ minimum: 0, description: 'Mean days dark in the month.' }),
      }),
      { description: 'Twelve months from now.' },
    ),
    says: Type.String(),
    missing: Type.Union([Type.String(), Type.Null()]),
  },
  { $id: 'Season' },
);
export type SeasonJson = Static<typeof SeasonSchema>;
