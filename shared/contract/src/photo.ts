import Type, { type Static } from 'typebox';

/** A picture of a site or of one of its parts; its bytes are fetched by themselves. */
export const PhotoSchema = Type.Object(
  {
    id: Type.String(),
    partId: Type.Union([Type.String({ description: 'The part it shows.' }), Type.Null()]),
    caption: Type.String(),
    byteCount: Type.Integer(),
    addedAt: Type.String({ format: 'date-time' }),
    addedBy: Type.String(),
  },
  { $id: 'Photo' },
);
export type PhotoJson = Static<typeof PhotoSchema>;

export const PhotoListSchema = Type.Object(
  { photos: Type.Array(PhotoSchema) },
  { $id: 'PhotoList' },
);
export type PhotoListJson = Static<typeof PhotoListSchema>;
