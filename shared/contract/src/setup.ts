import { batteryChemistries } from '@duskline/domain';
import Type, { type Static } from 'typebox';

/** Everything that is needed to put a node at a place. */
export const NewSiteSchema = Type.Object(
  {
    id: Type.String({
      pattern: '^[a-z0-9][a-z0-9-]{1,59}$',
      description: 'Short name used in addresses.',
    }),
    name: Type.String({ minLength: 1, maxLength: 80 }),
    latitudeDeg: Type.Number({ minimum: -90, maximum: 90 }),
    longitudeDeg: Type.Number({ minimum: -180, maximum: 180 }),
    elevationM: Type.Number({ minimum: -450, maximum: 9000 }),
    timeZone: Type.String(),
    access: Type.Optional(Type.String({ maxLength: 2000 })),
    hazards: Type.Optional(Type.String({ maxLength: 2000 })),
    clearnessByMonth: Type.Optional(
      Type.Array(Type.Number({ minimum: 0.05, maximum: 0.9 }), {
        minItems: 12,
        maxItems: 12,
        description:
          'Mean daily clearness of each month, January first, from any climate table; without it the outlook starts from the latitude.',
      }),
    ),
  },
  { $id: 'NewSite', additionalProperties: false },
);
export type NewSiteJson = Static<typeof NewSiteSchema>;

/** A battery that is none of the known kinds, of the whole pack. */
export const OwnBatterySchema = Type.Object(
  {
    name: Type.String({ minLength: 1, maxLength: 60, description: 'As on its label.' }),
    voltagePoints: Type.Array(Type.Tuple([Type.Number(), Type.Number()]), {
      minItems: 2,
      maxItems: 50,
      description: 'Rest voltage of the pack: [charge 0–1, V], both rising, from empty to full.',
    }),
    chargeC: Type.Tuple([Type.Number(), Type.Number()], {
      description: 'Cell temperatures between which it may be charged, °C.',
    }),
    dischargeC: Type.Tuple([Type.Number(), Type.Number()], {
      description: 'Cell temperatures between which it may be used, °C.',
    }),
    restResistanceOhm: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 100 })),
    makerAllowsFreezingCharge: Type.Optional(
      Type.Boolean({
        description:
          'The maker allows charging below 0 °C in writing. Never say so for a lithium battery of which you do not know it: it is dangerous.',
      }),
    ),
  },
  { $id: 'OwnBattery', additionalProperties: false },
);
export type OwnBatteryJson = Static<typeof OwnBatterySchema>;

export const NewNodeSchema = Type.Object(
  {
    name: Type.String({ pattern: '^[a-z0-9-]{3,40}$', description: 'Its name on the wire.' }),
    panelW: Type.Number({ exclusiveMinimum: 0, maximum: 5000 }),
    panelTiltDeg: Type.Number({ minimum: 0, maximum: 90 }),
    panelAzimuthDeg: Type.Number({ minimum: 0, maximum: 360 }),
    batteryChemistry: Type.Enum([...batteryChemistries]),
    batteryWh: Type.Number({ exclusiveMinimum: 0, maximum: 50_000 }),
    seriesCells: Type.Integer({ minimum: 1, maximum: 40 }),
    ownBattery: Type.Optional(OwnBatterySchema),
    charger: Type.Enum(['mppt', 'direct']),
    shutDownRatio: Type.Number({ minimum: 0, maximum: 0.95 }),
    restartRatio: Type.Number({ minimum: 0.01, maximum: 1 }),
    offStateDrawW: Type.Number({ minimum: 0, maximum: 100 }),
    usualGapS: Type.Number({ minimum: 1, maximum: 604_800 }),
    commissionedAt: Type.Optional(
      Type.String({
        format: 'date-time',
        description:
          'When it was put up at the site. Default: now; for a node that stands there already, when that was.',
      }),
    ),
  },
  { $id: 'NewNode', additionalProperties: false },
);
export type NewNodeJson = Static<typeof NewNodeSchema>;

export const NodeSecretSchema = Type.Object(
  {
    node: Type.String(),
    secret: Type.String({ description: 'Shown this once; only its hash is kept.' }),
    broker: Type.Object(
      {
        scheme: Type.Enum(['mqtt', 'mqtts', 'ws', 'wss']),
        host: Type.Union([Type.String(), Type.Null()], {
          description: 'Null: the host that this API was asked on.',
        }),
        port: Type.Integer({ minimum: 1, maximum: 65_535 }),
      },
      { description: 'Where it publishes.' },
    ),
  },
  { $id: 'NodeSecret' },
);
export type NodeSecretJson = Static<typeof NodeSecretSchema>;
/** Where nodes publish. */
export type BrokerAddressJson = NodeSecretJson['broker'];
