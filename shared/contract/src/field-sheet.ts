import { nodeStates } from '@duskline/domain';
import Type, { type Static } from 'typebox';
import { LandOwnerSchema } from './land-owner.ts';
import { PurposeSchema, SiteNeedSchema } from './site-need.ts';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

const FieldLineSchema = Type.Object({ key: Type.String(), says: Type.String() });

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
    landOwner: Type.Optional(LandOwnerSchema),
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
    purpose: Type.Optional(PurposeSchema),
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
