import Type, { type Static } from 'typebox';

/** RFC 9457 problem details, with our stable code. */
export const ProblemSchema = Type.Object(
  {
    type: Type.String(),
    title: Type.String(),
    status: Type.Integer(),
    detail: Type.Optional(Type.String()),
    code: Type.String(),
    errors: Type.Optional(
      Type.Array(Type.Object({ pointer: Type.String(), detail: Type.String() })),
    ),
  },
  { $id: 'Problem' },
);
export type Problem = Static<typeof ProblemSchema>;
