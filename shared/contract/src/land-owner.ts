import Type, { type Static } from 'typebox';

/** `PUT /api/v1/sites/:siteId/land-owner`. Empty name and phone: nobody any more. */
export const LandOwnerSchema = Type.Object(
  {
    name: Type.String({ maxLength: 80 }),
    phone: Type.String({
      maxLength: 30,
      pattern: '^[+0-9 ()-]*$',
      description: 'As it is dialled, with the code of the country.',
    }),
  },
  {
    $id: 'LandOwner',
    additionalProperties: false,
    description: 'Who owns or farms the land a site stands on: called before anybody drives there.',
  },
);
export type LandOwnerJson = Static<typeof LandOwnerSchema>;
