import { nodeStates, visitDeeds, visitHorizons, visitStates } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const words = (maxLength: number) => Type.String({ minLength: 1, maxLength });
const uuid = Type.String({
  pattern: '^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$',
  description: 'UUID in small letters.',
});
const closed = { additionalProperties: false } as const;

const ReserveChangeSchema = Type.Object(
  {
    beforeWh: Type.Number(),
    afterWh: Type.Number(),
    beforeDays: nullable(Type.Number({ description: 'Days without any sun, at its load.' })),
    afterDays: nullable(Type.Number()),
  },
  { description: 'Usable energy above the shut-down level; the weather is not taken out.' },
);

/** How yield and reserve stood before and after a visit. */
export const VisitVerdictSchema = Type.Object(
  {
    horizon: Type.Enum([...visitHorizons]),
    kind: Type.Enum(['judged', 'cannot-tell']),
    says: Type.String(),
    yieldChange: nullable(
      Type.Number({
        description: '0.18: yield 18 % higher, weather taken out by the other sites’ days.',
      }),
    ),
    lowChange: nullable(Type.Number({ description: 'Eight in ten lie from here …' })),
    highChange: nullable(Type.Number({ description: '… to here.' })),
    gainWhPerDay: nullable(Type.Number()),
    reserve: nullable(ReserveChangeSchema),
  },
  { $id: 'VisitVerdict' },
);
export type VisitVerdictJson = Static<typeof VisitVerdictSchema>;

export const VisitSchema = Type.Object(
  {
    id: Type.String(),
    siteId: Type.String(),
    siteName: Type.String(),
    timeZone: Type.String(),
    roundId: nullable(Type.String({ description: 'Visits of one trip share it.' })),
    place: nullable(Type.Integer({ description: 'In the round, from 1.' })),
    plannedAt: instant,
    personId: Type.String(),
    person: Type.String(),
    why: Type.String(),
    plannedBy: Type.String(),
    state: Type.Enum([...visitStates]),
    setOutAt: nullable(instant),
    backBy: nullable(instant),
    companions: Type.String({ description: 'Empty: alone.' }),
    backAt: nullable(instant),
    found: Type.String(),
    deeds: Type.Array(Type.Enum([...visitDeeds])),
    calledOffWhy: nullable(Type.String()),
    ticked: Type.Array(Type.String(), { description: 'Keys of the check list.' }),
    cautionsRead: Type.Array(Type.String(), { description: 'Keys of the cautions.' }),
    notes: Type.Array(Type.Object({ at: instant, text: Type.String() })),
    verdicts: Type.Array(VisitVerdictSchema),
  },
  { $id: 'Visit', description: 'One trip to one site: planned, under way, done or called off.' },
);
export type VisitJson = Static<typeof VisitSchema>;

/** `GET /api/v1/visits?from=…&to=…[&site=…]`. */
export const VisitListSchema = Type.Object(
  { visits: Type.Array(VisitSchema, { description: 'By the time planned.' }) },
  { $id: 'VisitList' },
);
export type VisitListJson = Static<typeof VisitListSchema>;

const NewTrip = {
  at: Type.String({ format: 'date-time', description: 'When to set out.' }),
  why: words(300),
  personId: Type.Optional(
    Type.String({
      maxLength: 40,
      description: 'Default: whoever asks. Others need arrange-people.',
    }),
  ),
};

/** `POST /api/v1/visits`. Sent a second time with the same id it changes nothing. */
export const NewVisitSchema = Type.Object(
  { id: Type.Optional(uuid), siteId: Type.String({ maxLength: 60 }), ...NewTrip },
  { $id: 'NewVisit', ...closed },
);
export type NewVisitJson = Static<typeof NewVisitSchema>;

/** `POST /api/v1/visits/:id/move`: another time, another person; a visit that is moved leaves its round. */
export const MoveVisitSchema = Type.Object(
  {
    at: Type.String({ format: 'date-time', description: 'When to set out.' }),
    personId: Type.Optional(
      Type.String({ maxLength: 40, description: 'Default: whoever was to go.' }),
    ),
    why: words(300),
  },
  { $id: 'MoveVisit', ...closed },
);
export type MoveVisitJson = Static<typeof MoveVisitSchema>;

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

const step = { id: uuid, at: instant };

export const VisitStepSchema = Type.Union(
  [
    Type.Object(
      {
        ...step,
        kind: Type.Literal('set-out'),
        backBy: Type.String({
          format: 'date-time',
          description: 'Whoever is not back then is looked for. At most 36 hours later.',
        }),
        companions: Type.String({ maxLength: 200 }),
        cautions: Type.Array(Type.String({ maxLength: 60 }), { maxItems: 30 }),
      },
      closed,
    ),
    Type.Object({ ...step, kind: Type.Literal('later'), backBy: instant }, closed),
    Type.Object(
      { ...step, kind: Type.Enum(['tick', 'untick']), item: Type.String({ maxLength: 120 }) },
      closed,
    ),
    Type.Object({ ...step, kind: Type.Literal('note'), text: words(1000) }, closed),
    Type.Object(
      {
        ...step,
        kind: Type.Literal('back'),
        found: Type.String({ maxLength: 1000 }),
        deeds: Type.Array(Type.Enum([...visitDeeds]), { maxItems: visitDeeds.length }),
      },
      closed,
    ),
    Type.Object({ ...step, kind: Type.Literal('call-off'), why: words(300) }, closed),
  ],
  {
    $id: 'VisitStep',
    description: 'Kept on the phone until there is coverage: each is kept once, by its id.',
  },
);
export type VisitStepJson = Static<typeof VisitStepSchema>;

/** `POST /api/v1/visits/:id/steps`. */
export const VisitStepsSchema = Type.Object(
  { steps: Type.Array(VisitStepSchema, { minItems: 1, maxItems: 200 }) },
  { $id: 'VisitSteps', ...closed },
);
export type VisitStepsJson = Static<typeof VisitStepsSchema>;

const FieldLineSchema = Type.Object({ key: Type.String(), says: Type.String() });

const SiteNeedSchema = Type.Object(
  {
    kind: Type.Enum(['by', 'no-need', 'cannot-tell']),
    at: nullable(
      Type.String({
        format: 'date-time',
        description: 'by: latest safe date. no-need: until then.',
      }),
    ),
    because: Type.Array(Type.String(), { description: 'The weightiest first.' }),
  },
  { $id: 'SiteNeed', description: 'By when somebody must have been at a site.' },
);

/** `GET /api/v1/sites/:siteId/field-sheet`: all that is needed at a site, to be read without coverage. */
export const FieldSheetSchema = Type.Object(
  {
    siteId: Type.String(),
    siteName: Type.String(),
    latitudeDeg: Type.Number(),
    longitudeDeg: Type.Number(),
    elevationM: Type.Number(),
    timeZone: Type.String(),
    access: Type.String(),
    hazards: Type.String(),
    node: nullable(Type.String()),
    madeAt: instant,
    state: nullable(
      Type.Object({
        state: Type.Enum([...nodeStates]),
        since: instant,
        cause: Type.String(),
        settledBy: nullable(Type.String()),
        evidence: Type.Array(Type.String()),
      }),
    ),
    chargeSays: nullable(Type.String({ description: 'With its band, method and time.' })),
    lastHeardAt: nullable(instant),
    need: SiteNeedSchema,
    alerts: Type.Array(
      Type.Object({ sentence: Type.String(), todo: Type.String(), bring: Type.String() }),
    ),
    causes: Type.Array(
      Type.Object({
        cause: Type.String(),
        name: Type.String(),
        probability: nullable(Type.Number({ description: '0–1.' })),
        steps: Type.Array(FieldLineSchema),
      }),
      { description: 'Probable causes with what to do, the most probable first.' },
    ),
    first: Type.Array(FieldLineSchema, { description: 'Done at every site on arrival.' }),
    last: Type.Array(FieldLineSchema, { description: 'Done at every site before leaving.' }),
    bring: Type.Array(Type.Object({ what: Type.String(), because: Type.String() })),
    cautions: Type.Array(FieldLineSchema, {
      description: 'To be ticked before setting out. They give no permission for anything.',
    }),
    daylight: Type.Array(
      Type.Object({
        from: instant,
        until: instant,
      }),
      {
        description:
          'Sunrise to sunset at the site, today and the days after; polar nights are left out.',
      },
    ),
  },
  { $id: 'FieldSheet' },
);
export type FieldSheetJson = Static<typeof FieldSheetSchema>;

/** `GET /api/v1/visits/:id`. */
export const VisitPageSchema = Type.Object(
  { visit: VisitSchema, sheet: FieldSheetSchema },
  { $id: 'VisitPage' },
);
export type VisitPageJson = Static<typeof VisitPageSchema>;

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
        mostHours: Type.Number(),
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
export { SiteNeedSchema };
export type SiteNeedJson = Static<typeof SiteNeedSchema>;
