import { batteryChemistries, partKinds } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const positive = (description: string) =>
  Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 1_000_000, description }));

const rated = Type.Object(
  {
    powerW: positive('Panel: at 1000 W/m² and 25 °C.'),
    energyWh: positive('Battery: when new.'),
    voltageV: positive('Nominal voltage.'),
    currentA: positive('Largest current.'),
    chemistry: Type.Optional(Type.Enum([...batteryChemistries])),
    seriesCells: Type.Optional(Type.Integer({ minimum: 1, maximum: 40 })),
  },
  {
    additionalProperties: false,
    description: 'What the plate says; what is not on it is left out.',
  },
);
const calibration = Type.Object(
  {
    coefficients: Type.Array(Type.Number(), {
      minItems: 1,
      maxItems: 8,
      description: 'c₀, c₁, c₂ …: value = c₀ + c₁·raw + c₂·raw² …',
    }),
    at: instant,
    uncertainty: Type.Optional(
      Type.Number({ minimum: 0, description: 'Standard uncertainty (k = 1) in the unit.' }),
    ),
    unit: Type.String({ maxLength: 20 }),
  },
  { additionalProperties: false },
);
const written = {
  serial: Type.String({ maxLength: 80, description: 'Empty where it cannot be read.' }),
  maker: Type.String({ maxLength: 120, description: 'Maker and type, as on the plate.' }),
  fittedAt: instant,
  rated: Type.Optional(rated),
  calibration: Type.Optional(calibration),
  notes: Type.Optional(Type.String({ maxLength: 2000 })),
};

/** `POST /api/v1/sites/:siteId/parts`. */
export const NewPartSchema = Type.Object(
  { kind: Type.Enum([...partKinds]), ...written },
  { $id: 'NewPart', additionalProperties: false },
);
export type NewPartJson = Static<typeof NewPartSchema>;

/** `POST /api/v1/sites/:siteId/parts/:partId/replace`: the new one is of the same kind, and fitted when the old one was taken out. */
export const PartReplacementSchema = Type.Object(written, {
  $id: 'PartReplacement',
  additionalProperties: false,
});
export type PartReplacementJson = Static<typeof PartReplacementSchema>;

export const PartRemovalSchema = Type.Object(
  { removedAt: instant },
  { $id: 'PartRemoval', additionalProperties: false },
);
export type PartRemovalJson = Static<typeof PartRemovalSchema>;

export const PartSchema = Type.Object(
  {
    id: Type.String(),
    kind: Type.Enum([...partKinds]),
    serial: Type.String(),
    maker: Type.String(),
    fittedAt: instant,
    removedAt: Type.Union([instant, Type.Null()]),
    rated,
    calibration: Type.Union([calibration, Type.Null()]),
    notes: Type.String(),
    replacedBy: Type.Union([
      Type.String({ description: 'Id of the part in its place.' }),
      Type.Null(),
    ]),
  },
  { $id: 'Part', description: 'Something at a site with a serial and a life.' },
);
export type PartJson = Static<typeof PartSchema>;

export const PartListSchema = Type.Object({ parts: Type.Array(PartSchema) }, { $id: 'PartList' });
export type PartListJson = Static<typeof PartListSchema>;
