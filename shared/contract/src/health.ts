import Type, { type Static } from 'typebox';

/** `GET /healthz`: the process answers. */
export const HealthSchema = Type.Object({ status: Type.Enum(['ok']) }, { $id: 'Health' });
export type HealthJson = Static<typeof HealthSchema>;

/** `GET /readyz`: it can do its work. When it cannot, a Problem says which check failed and why. */
export const ReadinessSchema = Type.Object(
  {
    status: Type.Enum(['ready']),
    checks: Type.Array(Type.String(), { description: 'What was looked at and found in order.' }),
    warnings: Type.Optional(
      Type.Array(Type.String(), {
        description:
          'What works now and is to be put right, in sentences: a database that would lose data in a power cut.',
      }),
    ),
  },
  { $id: 'Readiness' },
);
export type ReadinessJson = Static<typeof ReadinessSchema>;
