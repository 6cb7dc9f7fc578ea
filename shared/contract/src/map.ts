import Type, { type Static } from 'typebox';

/** `GET /api/v1/map`. */
export const MapSettingsSchema = Type.Object(
  {
    tiles: Type.Union([
      Type.Object({
        url: Type.String({
          description: 'Template with {z}, {x} and {y}: squares of 256 px in Web Mercator.',
          examples: ['https://tiles.example.org/{z}/{x}/{y}.png'],
        }),
        credit: Type.String({ description: 'Whose map it is; shown on it.' }),
      }),
      Type.Null(),
    ]),
  },
  { $id: 'MapSettings' },
);
export type MapSettingsJson = Static<typeof MapSettingsSchema>;
