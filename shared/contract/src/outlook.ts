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
        spilledWhPerDay: Type.Optional(
          Type.Number({ description: 'What the panel could give and nothing could take.' }),
        ),
      }),
      Type.Null(),
    ]),
    reasons: Type.Optional(
      Type.Array(
        Type.Object({
          about: Type.Enum([
            'harvest',
            'load',
            'reserve',
            'weather',
            'temperature',
            'panel',
            'battery',
          ]),
          says: Type.String(),
        }),
        { description: 'What pushes it, in sentences with figures.' },
      ),
    ),
    weather: Type.Optional(
      Type.Object(
        {
          ownShare: Type.Number({
            description: 'Blocks of the node’s own days, share of the paths.',
          }),
          seasonShare: Type.Number({ description: 'The same season of its earlier years.' }),
          climateShare: Type.Number({ description: 'The climate of the place.' }),
          clearnessFrom: Type.Enum(['site', 'latitude']),
          panel: Type.Object({ ratio: Type.Number(), sigma: Type.Number() }),
          outside: Type.Optional(
            Type.Object({
              source: Type.String(),
              issuedAt: instant,
              days: Type.Number(),
              pairs: Type.Number(),
            }),
          ),
        },
        { description: 'What the weather ahead was made from; shares sum to 1.' },
      ),
    ),
    harvestStop: Type.Optional(
      Type.Object(
        {
          since: instant,
          cause: Type.String(),
          probability: Type.Number({ minimum: 0, maximum: 1 }),
        },
        {
          description:
            'Set when no harvest is reckoned with, as the panel’s connector or the charger has failed: what comes if nobody mends it. Not scored.',
        },
      ),
    ),
    model: Type.String(),
    seed: Type.Integer(),
  },
  { $id: 'Outlook', description: 'The forecast of one node. Days are counted from issuedAt.' },
);
export type OutlookJson = Static<typeof OutlookSchema>;
