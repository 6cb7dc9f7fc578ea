import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

/** `GET /api/v1/me/calendar`. */
export const CalendarFeedSchema = Type.Object(
  { madeAt: nullable(instant) },
  { $id: 'CalendarFeed', description: 'Null: there is no address.' },
);
export type CalendarFeedJson = Static<typeof CalendarFeedSchema>;

/** `POST /api/v1/me/calendar`: a new address; the one before is over. */
export const CalendarAddressSchema = Type.Object(
  {
    madeAt: instant,
    path: Type.String({ description: 'Below the address of this server. Shown this once.' }),
  },
  { $id: 'CalendarAddress' },
);
export type CalendarAddressJson = Static<typeof CalendarAddressSchema>;
