import Type, { type Static } from 'typebox';
import { OutlookSchema } from './outlook.ts';

const instant = Type.String({ format: 'date-time' });
const numberOrNull = Type.Union([Type.Number(), Type.Null()]);
const series = Type.Array(numberOrNull);

export const IssuedOutlookSchema = Type.Object(
  {
    id: Type.String({ description: 'To ask for its inputs by.' }),
    hindcast: Type.Boolean({
      description: 'Computed afterwards for a past instant, from nothing later.',
    }),
    reproducible: Type.Boolean({ description: 'What it was made of is kept.' }),
    outlook: OutlookSchema,
    graded: Type.Union(
      [
        Type.Object({
          darkWithin7Days: Type.Union([Type.Boolean(), Type.Null()]),
          outcome: Type.Union([Type.Enum(['happened', 'did-not', 'unknown']), Type.Null()]),
          outcomeDays: numberOrNull,
          crpsDays: numberOrNull,
        }),
        Type.Null(),
      ],
      { description: 'How it turned out; null: its time has not come, or it is not scored.' },
    ),
  },
  { $id: 'IssuedOutlook' },
);
export type IssuedOutlookJson = Static<typeof IssuedOutlookSchema>;

/** `GET /api/v1/nodes/:name/outlooks?from=…&to=…`: the newest first, 500 at most. */
export const OutlookListSchema = Type.Object(
  { outlooks: Type.Array(IssuedOutlookSchema) },
  { $id: 'OutlookList' },
);
export type OutlookListJson = Static<typeof OutlookListSchema>;

export const OutlookListQuerySchema = Type.Object(
  { from: instant, to: instant },
  { $id: 'OutlookListQuery', additionalProperties: false },
);

/** `GET /api/v1/nodes/:name/outlooks/:id/inputs`: all an outlook follows from. */
export const OutlookInputsSchema = Type.Object(
  {
    id: Type.String(),
    model: Type.String(),
    seed: Type.Integer(),
    nowAt: instant,
    facts: Type.Unknown({
      description: 'Position, power, charge, dark and recalibration, as the forecaster took them.',
    }),
    history: Type.Object({
      start: instant,
      stepS: Type.Integer(),
      panelW: series,
      loadW: series,
      chargeRatio: series,
      batteryV: series,
      batteryA: series,
      batteryC: series,
      airC: series,
    }),
    learnt: Type.Unknown({ description: 'What had been learnt of the node; null: nothing.' }),
    outside: Type.Unknown({ description: 'The forecast from outside; null: none.' }),
    sameAgain: Type.Boolean({
      description: 'The program that answers makes the same outlook from them, to the last bit.',
    }),
  },
  { $id: 'OutlookInputs' },
);
export type OutlookInputsJson = Static<typeof OutlookInputsSchema>;
