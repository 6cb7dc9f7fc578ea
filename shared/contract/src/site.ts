import { nodeStates } from '@duskline/domain';
import Type, { type Static } from 'typebox';
import { AlertSchema } from './alert.ts';
import { OutlookSchema } from './outlook.ts';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

/** One site as `GET /api/v1/sites` lists it. */
export const SiteSchema = Type.Object(
  {
    id: Type.String(),
    name: Type.String(),
    timeZone: Type.String({ description: 'IANA name' }),
    latitudeDeg: Type.Number(),
    longitudeDeg: Type.Number(),
    elevationM: Type.Number(),
    node: nullable(Type.String({ description: 'Name of its node on the wire.' })),
    version: Type.Integer({ description: 'Grows with every change.' }),
    state: Type.Enum([...nodeStates]),
    stateSince: nullable(instant),
    stateCause: nullable(Type.String()),
    stateSettledBy: nullable(Type.String()),
    stateEvidence: Type.Array(Type.String()),
    chargeRatio: nullable(Type.Number({ minimum: 0, maximum: 1 })),
    chargeLowRatio: nullable(Type.Number({ minimum: 0, maximum: 1 })),
    chargeHighRatio: nullable(Type.Number({ minimum: 0, maximum: 1 })),
    chargeMethod: nullable(Type.String()),
    chargeAt: nullable(instant),
    shutDownRatio: nullable(Type.Number({ minimum: 0, maximum: 1 })),
    restartRatio: nullable(Type.Number({ minimum: 0, maximum: 1 })),
    lastHeardAt: nullable(instant),
    outlook: nullable(OutlookSchema),
    alerts: Type.Array(AlertSchema),
  },
  { $id: 'Site' },
);
export type SiteJson = Static<typeof SiteSchema>;

export const SiteListSchema = Type.Object({ sites: Type.Array(SiteSchema) }, { $id: 'SiteList' });
export type SiteListJson = Static<typeof SiteListSchema>;

/** A series at a fixed step, in whole per cent of charge; null where nothing was heard. Small, for twenty rows or ten thousand. */
export const TraceSchema = Type.Object(
  { start: instant, stepS: Type.Integer(), percent: Type.Array(nullable(Type.Integer())) },
  { $id: 'Trace' },
);
export type TraceJson = Static<typeof TraceSchema>;

export const FanSchema = Type.Object(
  {
    start: instant,
    stepS: Type.Integer(),
    p10: Type.Array(Type.Integer()),
    p50: Type.Array(Type.Integer()),
    p90: Type.Array(Type.Integer()),
  },
  { $id: 'Fan', description: 'Charge in whole per cent, P10, P50, P90 of the paths.' },
);
export type FanJson = Static<typeof FanSchema>;

/** One row of the fleet page. */
export const FleetRowSchema = Type.Object(
  {
    site: SiteSchema,
    week: TraceSchema,
    fan: nullable(FanSchema),
    nights: Type.Array(Type.Tuple([instant, instant]), {
      description: 'From sunset to sunrise at the site, over the whole axis.',
    }),
  },
  { $id: 'FleetRow' },
);
export type FleetRowJson = Static<typeof FleetRowSchema>;

export const FleetSchema = Type.Object(
  {
    now: instant,
    axisFrom: instant,
    axisTo: instant,
    rows: Type.Array(FleetRowSchema),
  },
  { $id: 'Fleet' },
);
export type FleetJson = Static<typeof FleetSchema>;

export const DayBalanceSchema = Type.Object(
  {
    dayStart: instant,
    harvestWh: nullable(Type.Number()),
    loadWh: nullable(Type.Number()),
    hoursHeard: Type.Number({ minimum: 0 }),
  },
  { $id: 'DayBalance' },
);

export const IntervalSchema = Type.Object(
  {
    state: Type.Enum([...nodeStates]),
    from: instant,
    to: nullable(instant),
    cause: Type.String(),
    evidence: Type.Array(Type.String()),
  },
  { $id: 'Interval' },
);

/** `GET /api/v1/sites/:id`: all that the site page shows except the readings. */
export const SitePageSchema = Type.Object(
  {
    row: FleetRowSchema,
    access: Type.String(),
    hazards: Type.String(),
    power: nullable(
      Type.Object({
        panelW: Type.Number(),
        panelTiltDeg: Type.Number(),
        panelAzimuthDeg: Type.Number(),
        batteryChemistry: Type.String(),
        batteryWh: Type.Number(),
        seriesCells: Type.Integer(),
        charger: Type.String(),
        shutDownRatio: Type.Number(),
        restartRatio: Type.Number(),
        offStateDrawW: Type.Number(),
        usualGapS: Type.Number(),
      }),
    ),
    days: Type.Array(DayBalanceSchema, { description: 'The last 30 solar days.' }),
    intervals: Type.Array(IntervalSchema, { description: 'The last 60 days, newest first.' }),
    latest: Type.Array(
      Type.Object({
        metric: Type.String(),
        label: Type.String(),
        unit: Type.String(),
        value: Type.Number(),
        observedAt: instant,
      }),
    ),
    metrics: Type.Array(Type.String(), { description: 'Metrics that can be drawn.' }),
  },
  { $id: 'SitePage' },
);
export type SitePageJson = Static<typeof SitePageSchema>;
