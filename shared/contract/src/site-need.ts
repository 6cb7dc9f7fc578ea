import Type, { type Static } from 'typebox';

/** What a visit is for: fits the reason of a visit. */
export const PurposeSchema = Type.String({
  $id: 'VisitPurpose',
  maxLength: 300,
  description:
    'What is wrong, the likely cause, what to do and what to bring, as the most pressing alert says it. Empty: nothing asks for anybody.',
});

export const SiteNeedSchema = Type.Object(
  {
    kind: Type.Enum(['by', 'no-need', 'cannot-tell']),
    at: Type.Union([
      Type.String({
        format: 'date-time',
        description:
          'by: latest safe date, the earliest of what the alerts of the site ask for and what its outlook says; never before now. no-need: until then.',
      }),
      Type.Null(),
    ]),
    pausedUntil: Type.Optional(
      Type.String({
        format: 'date-time',
        description:
          'The alert that sets the date is paused until then: it calls nobody, and the date stays.',
      }),
    ),
    because: Type.Array(Type.String(), { description: 'The weightiest first.' }),
  },
  { $id: 'SiteNeed', description: 'By when somebody must have been at a site.' },
);
export type SiteNeedJson = Static<typeof SiteNeedSchema>;
