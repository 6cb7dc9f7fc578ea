import Type, { type Static } from 'typebox';

export const SiteNeedSchema = Type.Object(
  {
    kind: Type.Enum(['by', 'no-need', 'cannot-tell']),
    at: Type.Union([
      Type.String({
        format: 'date-time',
        description: 'by: latest safe date. no-need: until then.',
      }),
      Type.Null(),
    ]),
    because: Type.Array(Type.String(), { description: 'The weightiest first.' }),
  },
  { $id: 'SiteNeed', description: 'By when somebody must have been at a site.' },
);
export type SiteNeedJson = Static<typeof SiteNeedSchema>;
