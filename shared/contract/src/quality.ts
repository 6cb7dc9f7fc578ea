import { qualityTests } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const Span = Type.Array(Type.Number(), {
  minItems: 2,
  maxItems: 2,
  description: 'Low and high end.',
});
const orOff = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Optional(Type.Union([schema, Type.Null()]));
const positive = (description: string) => Type.Number({ exclusiveMinimum: 0, description });

const SpikeLimit = Type.Object(
  {
    suspect: positive('In the unit of the metric.'),
    fail: Type.Optional(positive('In the unit of the metric.')),
  },
  { additionalProperties: false },
);
const RateLimit = Type.Object(
  {
    suspectPerS: positive('Units of the metric a second.'),
    failPerS: Type.Optional(positive('Units of the metric a second.')),
    leastS: Type.Optional(Type.Number({ minimum: 0, maximum: 3600 })),
  },
  { additionalProperties: false },
);
/** The shortest and the longest time over which standing still may be looked for. */
export const FLAT_LINE_S = { least: 60, most: 86_400 } as const;
const window = { minimum: FLAT_LINE_S.least, maximum: FLAT_LINE_S.most };
const FlatLineLimit = Type.Object(
  {
    tolerance: positive('Less variation than this is none.'),
    suspectS: Type.Number(window),
    failS: Type.Optional(Type.Number(window)),
  },
  { additionalProperties: false },
);
const NeighbourLimit = Type.Object(
  { suspect: positive('Distance from the median of the neighbours.') },
  { additionalProperties: false },
);

const MetricLimits = Type.Object(
  {
    failSpan: orOff(Span),
    suspectSpan: orOff(Span),
    spike: orOff(SpikeLimit),
    rate: orOff(RateLimit),
    flatLine: orOff(FlatLineLimit),
    neighbour: orOff(NeighbourLimit),
  },
  { additionalProperties: false },
);

const crossLimit = Type.Optional(Type.Number());

/** `PUT …/quality-limits`: only what differs from the defaults; null switches a test off. */
export const QualityLimitsSchema = Type.Object(
  {
    metrics: Type.Optional(
      Type.Record(Type.String(), MetricLimits, { description: 'By the name of the metric.' }),
    ),
    cross: Type.Optional(
      Type.Object(
        {
          nightBelowDeg: crossLimit,
          panelWAtNight: crossLimit,
          panelAAtNight: crossLimit,
          panelVAtNight: crossLimit,
          dewPointAboveAirC: crossLimit,
          gustBelowMeanMs: crossLimit,
          clearSkyRatio: crossLimit,
          clearSkyS: Type.Optional(Type.Number({ minimum: 0, maximum: 86_400 })),
          clearSkyLeastWPerM2: crossLimit,
          chargeJumpPct: crossLimit,
          chargeJumpS: Type.Optional(Type.Number({ minimum: 1, maximum: 86_400 })),
          currentA: crossLimit,
          currentBelowWPerM2: crossLimit,
          rainMm: crossLimit,
          rainBelowRhPct: crossLimit,
        },
        { additionalProperties: false },
      ),
    ),
  },
  { $id: 'QualityLimits', additionalProperties: false },
);
export type QualityLimitsJson = Static<typeof QualityLimitsSchema>;

const beneath = <T extends Parameters<typeof Type.Union>[0][number]>(limit: T) =>
  Type.Object({
    limit: Type.Union([limit, Type.Null()], { description: 'Null: the test was switched off.' }),
    from: Type.Enum(['default', 'site', 'node']),
    source: Type.Union([Type.String(), Type.Null()], {
      description: 'Where a default comes from; null of what people set.',
    }),
  });
const crossBeneath = beneath(Type.Number());

/** What holds beneath the limits of a site, a node or a part: the defaults, and what was set for its site and node. */
const LimitsBeneathSchema = Type.Object({
  metrics: Type.Record(
    Type.String(),
    Type.Object({
      failSpan: Type.Optional(beneath(Span)),
      suspectSpan: Type.Optional(beneath(Span)),
      spike: Type.Optional(beneath(SpikeLimit)),
      rate: Type.Optional(beneath(RateLimit)),
      flatLine: Type.Optional(beneath(FlatLineLimit)),
      neighbour: Type.Optional(beneath(NeighbourLimit)),
    }),
    { description: 'By the name of the metric.' },
  ),
  cross: Type.Object({
    nightBelowDeg: crossBeneath,
    panelWAtNight: crossBeneath,
    panelAAtNight: crossBeneath,
    panelVAtNight: crossBeneath,
    dewPointAboveAirC: crossBeneath,
    gustBelowMeanMs: crossBeneath,
    clearSkyRatio: crossBeneath,
    clearSkyS: crossBeneath,
    clearSkyLeastWPerM2: crossBeneath,
    chargeJumpPct: crossBeneath,
    chargeJumpS: crossBeneath,
    currentA: crossBeneath,
    currentBelowWPerM2: crossBeneath,
    rainMm: crossBeneath,
    rainBelowRhPct: crossBeneath,
  }),
});
export type LimitsBeneathJson = Static<typeof LimitsBeneathSchema>;

/** Limits as they were set, by whom and when, both null when nobody set any; and what holds without them. */
export const SetQualityLimitsSchema = Type.Object(
  {
    limits: QualityLimitsSchema,
    setBy: Type.Union([Type.String(), Type.Null()]),
    setAt: Type.Union([Type.String({ format: 'date-time' }), Type.Null()]),
    beneath: LimitsBeneathSchema,
  },
  { $id: 'SetQualityLimits' },
);
export type SetQualityLimitsJson = Static<typeof SetQualityLimitsSchema>;

/** `GET /api/v1/quality-rules`, of a site with `?site=…`, else the defaults. */
export const QualityRulesQuerySchema = Type.Object(
  { site: Type.Optional(Type.String()) },
  { $id: 'QualityRulesQuery', additionalProperties: false },
);

export const QualityRulesSchema = Type.Object(
  {
    flags: Type.Array(Type.Object({ flag: Type.Integer(), word: Type.String() })),
    rules: Type.Array(
      Type.Object({
        test: Type.Enum([...qualityTests]),
        says: Type.String(),
        source: Type.String(),
        limits: Type.Array(
          Type.Object({ metric: Type.String(), label: Type.String(), limit: Type.String() }),
        ),
      }),
    ),
  },
  { $id: 'QualityRules' },
);
export type QualityRulesJson = Static<typeof QualityRulesSchema>;
