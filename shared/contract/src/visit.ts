import { visitDeeds, visitHorizons, visitStates } from '@duskline/domain';
import Type, { type Static } from 'typebox';
import { FieldSheetSchema } from './field-sheet.ts';
import { NewTrip } from './new-trip.ts';

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

export const VisitMovedSchema = Type.Object(
  {
    at: instant,
    by: Type.String(),
    why: Type.String(),
    fromAt: Type.String({ format: 'date-time', description: 'When they had meant to set out …' }),
    toAt: Type.String({ format: 'date-time', description: '… and when from then on.' }),
    fromPerson: Type.String(),
    toPerson: Type.String(),
  },
  { $id: 'VisitMoved', description: 'A planned visit went to another time or person.' },
);
export type VisitMovedJson = Static<typeof VisitMovedSchema>;

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
    moves: Type.Optional(
      Type.Array(VisitMovedSchema, {
        description: 'The first first. Left out: it was never moved.',
      }),
    ),
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

/** `POST /api/v1/visits`. Sent a second time with the same id it changes nothing. */
export const NewVisitSchema = Type.Object(
  {
    id: Type.Optional(uuid),
    siteId: Type.String({ maxLength: 60 }),
    ...NewTrip,
    begun: Type.Optional(
      Type.Boolean({
        description:
          'It was begun at that time, perhaps without coverage: only then may it lie in the past.',
      }),
    ),
  },
  { $id: 'NewVisit', ...closed },
);
export type NewVisitJson = Static<typeof NewVisitSchema>;

/** `POST /api/v1/visits/:id/move`: another time, another person; a visit that is moved leaves its round. */
export const MoveVisitSchema = Type.Object(
  {
    at: Type.String({ format: 'date-time', description: 'When to set out; not in the past.' }),
    personId: Type.Optional(
      Type.String({ maxLength: 40, description: 'Default: whoever was to go.' }),
    ),
    why: words(300),
  },
  { $id: 'MoveVisit', ...closed },
);
export type MoveVisitJson = Static<typeof MoveVisitSchema>;

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

/** `GET /api/v1/visits/:id`. */
export const VisitPageSchema = Type.Object(
  { visit: VisitSchema, sheet: FieldSheetSchema },
  { $id: 'VisitPage' },
);
export type VisitPageJson = Static<typeof VisitPageSchema>;
