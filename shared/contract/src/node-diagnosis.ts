import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });

/** One possible cause, with what speaks for and against it. */
export const RankedCauseSchema = Type.Object(
  {
    cause: Type.String(),
    name: Type.String({ description: 'In words.' }),
    probability: Type.Number({ minimum: 0, maximum: 1 }),
    evidenceFor: Type.Array(Type.String(), { description: 'The weightiest first.' }),
    evidenceAgainst: Type.Array(Type.String()),
    settledBy: Type.String({ description: 'What will tell.' }),
    settledAt: Type.Union([instant, Type.Null()], { description: 'When it will have told.' }),
  },
  { $id: 'RankedCause' },
);
export type RankedCauseJson = Static<typeof RankedCauseSchema>;

/** `GET /api/v1/nodes/:name/diagnoses`. */
export const NodeDiagnosesSchema = Type.Object(
  {
    diagnoses: Type.Array(
      Type.Object({
        question: Type.Enum(['silence', 'power']),
        madeAt: instant,
        causes: Type.Array(RankedCauseSchema, { description: 'The most probable first.' }),
      }),
    ),
  },
  { $id: 'NodeDiagnoses' },
);
export type NodeDiagnosesJson = Static<typeof NodeDiagnosesSchema>;
