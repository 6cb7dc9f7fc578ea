import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const series = (description: string, minimum: number, maximum: number) =>
  Type.Optional(
    Type.Array(Type.Union([Type.Number({ minimum, maximum }), Type.Null()]), {
      minItems: 1,
      maxItems: 16 * 24,
      description: `${description}; null where the forecast says nothing.`,
    }),
  );

/** `POST /api/v1/sites/:siteId/outside-forecasts` as JSON. */
export const NewOutsideForecastSchema = Type.Object(
  {
    source: Type.String({
      minLength: 1,
      maxLength: 120,
      description: 'Who made it, for people to read.',
    }),
    issuedAt: instant,
    start: instant,
    stepHours: Type.Enum([1, 24]),
    members: Type.Array(
      Type.Object(
        {
          ghiWm2: series('Level irradiance, mean of the step, W/m²', 0, 1500),
          cloudRatio: series(
            'Cover of the sky by cloud, 0–1; used where there is no irradiance',
            0,
            1,
          ),
          airC: series('Air, mean of the step, °C', -80, 60),
        },
        { additionalProperties: false },
      ),
      { minItems: 1, maxItems: 60, description: 'One, or an ensemble of equally likely ones.' },
    ),
  },
  { $id: 'NewOutsideForecast', additionalProperties: false },
);
export type NewOutsideForecastJson = Static<typeof NewOutsideForecastSchema>;

export const OutsideForecastSchema = Type.Object(
  {
    id: Type.String(),
    source: Type.String(),
    issuedAt: instant,
    receivedAt: instant,
    receivedFrom: Type.String({ description: 'Name of the person, or of the token’s owner.' }),
    start: instant,
    end: instant,
    stepHours: Type.Number(),
    members: Type.Integer(),
    says: Type.Array(Type.Enum(['irradiance', 'cloud', 'air temperature'])),
    lastUsedAt: Type.Union([instant, Type.Null()], {
      description: 'When the last outlook that used it was issued. Null: none has.',
    }),
    inForce: Type.Boolean({ description: 'The next outlook of the site uses it.' }),
  },
  { $id: 'OutsideForecast' },
);
export type OutsideForecastJson = Static<typeof OutsideForecastSchema>;

export const OutsideForecastListSchema = Type.Object(
  { forecasts: Type.Array(OutsideForecastSchema) },
  { $id: 'OutsideForecastList' },
);
export type OutsideForecastListJson = Static<typeof OutsideForecastListSchema>;
