import { permissions } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const permissionList = Type.Array(Type.Enum([...permissions]), {
  minItems: 1,
  uniqueItems: true,
  description: 'What it may do: never more than its owner may.',
});

/** What is asked for when a program is given its own way in. */
export const NewTokenSchema = Type.Object(
  {
    name: Type.String({
      minLength: 1,
      maxLength: 80,
      description: 'What it is for, so that it can be ended with confidence later.',
    }),
    permissions: permissionList,
    days: Type.Integer({ minimum: 1, maximum: 366, description: 'Days until it expires.' }),
  },
  { $id: 'NewToken', additionalProperties: false },
);
export type NewTokenJson = Static<typeof NewTokenSchema>;

export const IssuedTokenSchema = Type.Object(
  {
    name: Type.String(),
    permissions: permissionList,
    expiresAt: Type.String({ format: 'date-time' }),
    token: Type.String({ description: 'Shown this once; only its hash is kept.' }),
  },
  { $id: 'IssuedToken' },
);
export type IssuedTokenJson = Static<typeof IssuedTokenSchema>;

export const TokenListSchema = Type.Object(
  {
    tokens: Type.Array(
      Type.Object({
        id: Type.String(),
        name: Type.String(),
        createdAt: Type.String({ format: 'date-time' }),
        expiresAt: Type.Union([Type.String({ format: 'date-time' }), Type.Null()]),
      }),
    ),
  },
  { $id: 'TokenList' },
);
export type TokenListJson = Static<typeof TokenListSchema>;
