import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const interval = (description: string) =>
  Type.Union(
    [Type.Object({ value: Type.Number(), low: Type.Number(), high: Type.Number() }), Type.Null()],
    { description: `${description} With its 90 % interval; null where it cannot be told.` },
  );
const count = (description: string) => Type.Integer({ minimum: 0, description });

export const plainRules = ['lastDay', 'lastWeek', 'noSun'] as const;

/** `GET /api/v1/score?days=…&of=…&node=…`. */
export const ScoreQuerySchema = Type.Object(
  {
    days: Type.Optional(Type.Integer({ minimum: 7, maximum: 1830, default: 365 })),
    of: Type.Optional(Type.Enum(['all', 'issued', 'hindcasts'])),
    node: Type.Optional(Type.String({ description: 'Name of one node on the wire.' })),
  },
  { $id: 'ScoreQuery', additionalProperties: false },
);
export type ScoreQueryJson = Static<typeof ScoreQuerySchema>;

export const NodeScoreSchema = Type.Object(
  {
    node: Type.String(),
    siteId: Type.String(),
    siteName: Type.String(),
    outlooks: count('Outlooks of which is known whether the node was dark within 7 days.'),
    hindcasts: count('How many of them are hindcasts.'),
    events: count('How many came true.'),
    brier: Type.Union([Type.Number(), Type.Null()]),
    crpsDays: Type.Union([Type.Number(), Type.Null()]),
    lastWeekCrpsDays: Type.Union([Type.Number(), Type.Null()]),
    cover80: Type.Union([Type.Number(), Type.Null()]),
    unknown: count('Nobody can say what came: nothing was heard.'),
  },
  { $id: 'NodeScore' },
);
export type NodeScoreJson = Static<typeof NodeScoreSchema>;

export const ScoreSchema = Type.Object(
  {
    now: instant,
    from: instant,
    of: Type.Enum(['all', 'issued', 'hindcasts']),
    chance: Type.Object({
      withinDays: Type.Number(),
      count: count('Outlooks, at most one a node and day.'),
      hindcasts: count('How many of them are hindcasts.'),
      events: count('How often the node was dark within the days.'),
      baseRate: Type.Number({ description: 'events ÷ count, known only afterwards.' }),
      brier: interval('Brier score, 0 = right and certain.'),
      skillAgainstBaseRate: interval('1 − Brier ÷ Brier of the base rate.'),
      skillAgainstLastDay: interval('1 − Brier ÷ that of the balance of the last 24 h.'),
      skillAgainstLastWeek: interval('1 − Brier ÷ that of the balance of the last 7 days.'),
      skillAgainstNoSun: interval('1 − Brier ÷ that of the reserve without sun.'),
      bins: Type.Array(
        Type.Object({
          from: Type.Number(),
          to: Type.Number(),
          count: count('Outlooks in the bin.'),
          hindcasts: count('How many of them are hindcasts.'),
          meanChance: Type.Number(),
          observedShare: Type.Number(),
        }),
      ),
    }),
    days: Type.Object({
      withinDays: Type.Number(),
      count: count('Outlooks whose whole time is over.'),
      hindcasts: count('How many of them are hindcasts.'),
      emptied: count('How many nodes went empty within the days.'),
      nonTrivial: count('It went empty, or somebody saw a risk of it.'),
      crpsDays: interval('CRPS of days to empty, cut at the days; 0 = right and certain.'),
      lastDayCrpsDays: interval('The same of the balance of the last 24 h.'),
      lastWeekCrpsDays: interval('The same of the balance of the last 7 days.'),
      noSunCrpsDays: interval('The same of the reserve without sun.'),
      skillAgainstLastWeek: interval('1 − CRPS ÷ that of the last week’s balance.'),
      cover80: interval('Share of the non-trivial outlooks whose 80 % range held what came.'),
      tenths: Type.Array(Type.Integer(), {
        minItems: 10,
        maxItems: 10,
        description: 'Where what came fell, by tenths of the forecast: each should hold a tenth.',
      }),
    }),
    back: Type.Object({
      count: count('Outlooks of dark nodes whose time is over.'),
      crpsDays: interval('CRPS of days until the node was back.'),
      cover80: interval('Share whose 80 % window held the return.'),
    }),
    unknown: count('Nobody can say what came: nothing was heard.'),
    recalibration: Type.Union(
      [Type.Object({ fittedAt: instant, outcomes: Type.Integer() }), Type.Null()],
      {
        description: 'In force since; null: too few outcomes, chances are as the paths give them.',
      },
    ),
    nodes: Type.Array(NodeScoreSchema),
  },
  { $id: 'Score', description: 'How right the outlooks were.' },
);
export type ScoreJson = Static<typeof ScoreSchema>;
