import Type, { type Static } from 'typebox';

const days = (description: string) =>
  Type.Union([Type.Number({ minimum: 0 }), Type.Null()], { description });
const probability = (within: number) =>
  Type.Union([Type.Number({ minimum: 0, maximum: 1 }), Type.Null()], {
    description: `Chance (0–1) of reaching the shut-down level within ${within} days.`,
  });
const instant = Type.String({ format: 'date-time' });

export const OutlookSchema = Type.Object(
  {
    kind: Type.Enum(['empties-in', 'beyond-horizon', 'insufficient-data']),
    issuedAt: instant,
    horizonDays: Type.Number(),
    p10Days: days(
      'One path in ten is at the shut-down level by then: the pessimistic end. Null: beyond the horizon, or unknown.',
    ),
    p50Days: days('Half the paths. Null: beyond the horizon, or unknown.'),
    p90Days: days('Nine paths in ten. Null: beyond the horizon, or unknown.'),
    darkWithin3DaysProbability: probability(3),
    darkWithin7DaysProbability: probability(7),
    darkWithin14DaysProbability: probability(14),
    missing: Type.Union([Type.String(), Type.Null()], {
      description: 'What is short when there is too little data.',
    }),
    have: Type.Union([Type.Number(), Type.Null()]),
    need: Type.Union([Type.Number(), Type.Null()]),
    back: Type.Union(
      [
        Type.Object({
          kind: Type.Enum(['expected-back', 'out-of-reach']),
          p10At: Type.Union([instant, Type.Null()]),
          p50At: Type.Union([instant, Type.Null()]),
          p90At: Type.Union([instant, Type.Null()]),
        }),
        Type.Null(),
      ],
      { description: 'Once the node is dark: when it is expected back.' },
    ),
    drivers: Type.Union([
      Type.Object({
        harvestWhPerDay: Type.Number(),
        loadWhPerDay: Type.Number(),
        reserveWh: Type.Number(),
        noSunReserveDays: Type.Number(),
        harvestRatio: Type.Number(),
        historyDays: Type.Number(),
      }),
      Type.Null(),
    ]),
    model: Type.String(),
    seed: Type.Integer(),
  },
  { $id: 'Outlook', description: 'The forecast of one node. Days are counted from issuedAt.' },
);
export type OutlookJson = Static<typeof OutlookSchema>;
