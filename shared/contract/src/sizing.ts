import { batteryChemistries } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const twelve = (least: number, most: number, description: string) =>
  Type.Optional(
    Type.Array(Type.Number({ minimum: least, maximum: most }), {
      minItems: 12,
      maxItems: 12,
      description,
    }),
  );
const range = (description: string) =>
  Type.Object({ least: Type.Number(), most: Type.Number() }, { description });
const temperatures = (description: string) =>
  Type.Object({ minC: Type.Number(), maxC: Type.Number() }, { description });

/** A battery: one of the known chemistries, or the builder's own, which says which of them it is most like. */
export const SizingBatterySchema = Type.Object(
  {
    chemistry: Type.Enum([...batteryChemistries], {
      description: 'Of your own battery: the one it is most like, for what you do not state.',
    }),
    ratedWh: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 50_000 })),
    ratedAh: Type.Optional(
      Type.Number({
        exclusiveMinimum: 0,
        maximum: 50_000,
        description: 'In place of ratedWh; only for your own battery.',
      }),
    ),
    seriesCells: Type.Integer({ minimum: 1, maximum: 100 }),
    own: Type.Optional(
      Type.Object(
        {
          name: Type.String({ maxLength: 200 }),
          voltagePoints: Type.Array(
            Type.Object(
              { chargeRatio: Type.Number(), voltageV: Type.Number() },
              { additionalProperties: false },
            ),
            { maxItems: 200, description: 'At rest, of the whole pack, from empty to full.' },
          ),
          charge: temperatures('Cell temperatures between which it may be charged.'),
          discharge: temperatures('Cell temperatures between which it may be used.'),
          restResistanceOhm: Type.Optional(Type.Number()),
          makerAllowsFreezingCharge: Type.Optional(
            Type.Boolean({
              description:
                'The maker of this pack allows charging below 0 °C in writing. Lithium cells charged below 0 °C without it are destroyed and can catch fire.',
            }),
          ),
        },
        { additionalProperties: false },
      ),
    ),
  },
  { $id: 'SizingBattery', additionalProperties: false },
);
export type SizingBatteryJson = Static<typeof SizingBatterySchema>;

/** What is to be sized: a place, a load, a panel, a battery and a wish. */
export const SizingRequestSchema = Type.Object(
  {
    latitudeDeg: Type.Number({ minimum: -90, maximum: 90 }),
    longitudeDeg: Type.Number({ minimum: -180, maximum: 180 }),
    elevationM: Type.Number({ minimum: -450, maximum: 5000 }),
    loadW: Type.Number({
      exclusiveMinimum: 0,
      maximum: 2000,
      description: 'Mean draw while up, with what controller and converters draw themselves.',
    }),
    panelW: Type.Number({ exclusiveMinimum: 0, maximum: 5000 }),
    panelTiltDeg: Type.Number({ minimum: 0, maximum: 90 }),
    panelAzimuthDeg: Type.Number({ minimum: 0, maximum: 360 }),
    battery: SizingBatterySchema,
    charger: Type.Enum(['mppt', 'direct']),
    shutDownRatio: Type.Number({ minimum: 0, maximum: 0.95 }),
    restartRatio: Type.Number({ minimum: 0.01, maximum: 1 }),
    offStateDrawW: Type.Number({ minimum: 0, maximum: 100 }),
    reliabilityRatio: Type.Number({
      minimum: 0.5,
      maximum: 0.999,
      description: 'Wished share of time up.',
    }),
    criticality: Type.Enum(['ordinary', 'critical'], {
      description: 'How much hangs on it: what the textbook asks for.',
    }),
    clearnessByMonth: twelve(
      0.05,
      0.85,
      'Mean daily clearness of each month, January first, from any climate table: sun on the level over that above the air.',
    ),
    airCByMonth: twelve(-60, 50, 'Mean air temperature of each month, January first.'),
    seed: Type.Optional(
      Type.Integer({ minimum: 0, description: 'Same seed, same answer; 1 when left out.' }),
    ),
  },
  { $id: 'SizingRequest', additionalProperties: false },
);
export type SizingRequestJson = Static<typeof SizingRequestSchema>;

export const SizingSchema = Type.Object(
  {
    sentence: Type.String({ description: 'The answer in words.' }),
    months: Type.Array(
      Type.Object({
        month: Type.Integer({ minimum: 1, maximum: 12 }),
        clearness: Type.Number(),
        airC: Type.Number(),
        harvestWhPerDay: Type.Number({ description: 'What the panel can give, mean a day.' }),
        loadWhPerDay: Type.Number(),
        arrayToLoad: Type.Number({ description: 'Energy into the battery over energy out of it.' }),
        darkDays: Type.Number({ description: 'Mean days shut down in the month.' }),
        chanceDark: Type.Number({ description: 'Share of years in which it is dark at all.' }),
        blockedDays: Type.Number({ description: 'Mean days too cold or too hot to charge.' }),
      }),
      { minItems: 12, maxItems: 12 },
    ),
    worstMonth: Type.Integer({ minimum: 1, maximum: 12 }),
    upRatio: Type.Number(),
    darkDaysPerYear: Type.Number(),
    meetsWish: Type.Boolean(),
    autonomyDays: Type.Number({
      description: 'Days without any sun from full to the shut-down level, in the worst month.',
    }),
    textbook: Type.Object({
      batteryWh: range('For the days of autonomy below.'),
      panelW: Type.Union([range('For the ratios below.'), Type.Null()], {
        description: 'Null: the worst month has no sun.',
      }),
      autonomyDays: range('Asked for by the textbook.'),
      arrayToLoad: range('Asked for by the textbook in the worst month.'),
      source: Type.String(),
    }),
    smallestPanelW: Type.Union([Type.Number(), Type.Null()], {
      description: 'With the battery as given. Null: none meets the wish.',
    }),
    smallestBatteryWh: Type.Union([Type.Number(), Type.Null()], {
      description: 'With the panel as given. Null: none meets the wish.',
    }),
    pairs: Type.Array(
      Type.Object({
        panelW: Type.Number(),
        batteryWh: Type.Number(),
        autonomyDays: Type.Number(),
      }),
      { description: 'Panels and batteries that meet the wish together.' },
    ),
    climate: Type.Object({ clearnessSource: Type.String(), airSource: Type.String() }),
    years: Type.Integer({ description: 'Years of made-up weather behind the figures.' }),
    seed: Type.Integer(),
    notes: Type.Array(Type.String(), { description: 'What to know before buying or climbing.' }),
  },
  { $id: 'Sizing' },
);
export type SizingJson = Static<typeof SizingSchema>;

/** How long does this battery carry this load? */
export const RuntimeRequestSchema = Type.Object(
  {
    battery: SizingBatterySchema,
    loadW: Type.Number({ exclusiveMinimum: 0, maximum: 100_000 }),
    fromRatio: Type.Optional(Type.Number({ minimum: 0, maximum: 1 })),
    shutDownRatio: Type.Number({ minimum: 0, maximum: 1 }),
    batteryC: Type.Optional(Type.Number({ minimum: -60, maximum: 80 })),
    healthRatio: Type.Optional(
      Type.Number({
        minimum: 0.05,
        maximum: 1.5,
        description: 'Present capacity over the nameplate, where it was measured.',
      }),
    ),
  },
  { $id: 'RuntimeRequest', additionalProperties: false },
);
export type RuntimeRequestJson = Static<typeof RuntimeRequestSchema>;

export const RuntimeSchema = Type.Object(
  {
    sentence: Type.String(),
    hours: Type.Number(),
    lowHours: Type.Number({ description: 'With a worn battery.' }),
    highHours: Type.Number(),
    usableWh: Type.Number(),
    notes: Type.Array(Type.String()),
  },
  { $id: 'Runtime' },
);
export type RuntimeJson = Static<typeof RuntimeSchema>;
