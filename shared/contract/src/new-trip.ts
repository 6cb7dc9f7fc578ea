import Type from 'typebox';

/** What every plan of a trip says. */
export const NewTrip = {
  at: Type.String({ format: 'date-time', description: 'When to set out; not in the past.' }),
  why: Type.String({ minLength: 1, maxLength: 300 }),
  personId: Type.Optional(
    Type.String({
      maxLength: 40,
      description: 'Default: whoever asks. Others need arrange-people.',
    }),
  ),
};
