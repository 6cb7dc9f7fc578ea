import { nodeStates, visitStates } from '@duskline/domain';
import Type, { type Static } from 'typebox';
import { NewTrip } from './new-trip.ts';
import { PurposeSchema, SiteNeedSchema } from './site-need.ts';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const closed = { additionalProperties: false } as const;

/** `POST /api/v1/rounds`: a visit to each of these sites, in this order. */
export const NewRoundSchema = Type.Object(
  {
    siteIds: Type.Array(Type.String({ maxLength: 60 }), { minItems: 1, maxItems: 20 }),
    ...NewTrip,
    times: Type.Optional(
      Type.Array(Type.String({ format: 'date-time' }), {
        minItems: 1,
        maxItems: 20,
        description: 'When to set out for each site, in the same order. Default: at for all.',
      }),
    ),
  },
  { $id: 'NewRound', ...closed },
);
export type NewRoundJson = Static<typeof NewRoundSchema>;

/** `GET /api/v1/rounds[?from=54.71,-2.31]`. */
export const RoundsSchema = Type.Object(
  {
    madeAt: instant,
    travel: Type.Object(
      {
        fromLatitudeDeg: nullable(Type.Number()),
        fromLongitudeDeg: nullable(Type.Number()),
        speedKmh: Type.Number(),
        hoursAtSite: Type.Number(),
        mostHours: Type.Number({
          description:
            'Of a suggested round: no longer than a day’s light there, less half an hour.',
        }),
        mostStops: Type.Integer(),
        says: Type.String(),
      },
      { description: 'What hours are reckoned with. Distances are great-circle, not roads.' },
    ),
    sites: Type.Array(
      Type.Object({
        siteId: Type.String(),
        siteName: Type.String(),
        timeZone: Type.String(),
        latitudeDeg: Type.Number(),
        longitudeDeg: Type.Number(),
        state: nullable(Type.Enum([...nodeStates])),
        needsSomeone: Type.Boolean({
          description:
            'Counted so by the sentence over the fleet: an alert to act on, or a silence that no design explains.',
        }),
        need: SiteNeedSchema,
        purpose: PurposeSchema,
        savedDays: nullable(
          Type.Number({
            description: 'Days of data of the next 14 that are saved when somebody goes today.',
          }),
        ),
        tripHours: Type.Number({ description: 'A trip to this site alone.' }),
        savedPerHour: nullable(Type.Number()),
        bring: Type.Array(Type.String()),
        lastDaylight: nullable(
          Type.Object(
            { from: instant, until: instant },
            { description: 'The last daylight before the latest safe date.' },
          ),
        ),
        daylight: Type.Array(Type.Object({ from: instant, until: instant }), {
          description: 'Sunrise to sunset there, today and the days after; polar nights left out.',
        }),
        planned: nullable(
          Type.Object({
            id: Type.String(),
            at: instant,
            person: Type.String(),
            state: Type.Enum([...visitStates]),
          }),
        ),
        untold: Type.Optional(
          Type.Array(Type.Object({ id: Type.String(), at: instant, person: Type.String() }), {
            description:
              'Planned for a time that is over, and nobody has said what became of them; the first first. Left out: none.',
          }),
        ),
        lastVisitAt: nullable(instant),
      }),
      { description: 'Those that somebody must go to first, by latest safe date.' },
    ),
    suggested: Type.Array(
      Type.Object({
        siteIds: Type.Array(Type.String(), { description: 'In driving order.' }),
        legsKm: Type.Array(Type.Number()),
        distanceKm: Type.Number(),
        hours: Type.Number(),
        by: instant,
        savedDays: Type.Number(),
        savedPerHour: Type.Number(),
        bring: Type.Array(
          Type.Object({
            what: Type.String(),
            siteNames: Type.Array(Type.String()),
          }),
        ),
      }),
      { description: 'Of the sites with a latest safe date that nobody has planned to visit.' },
    ),
  },
  { $id: 'Rounds' },
);
export type RoundsJson = Static<typeof RoundsSchema>;
