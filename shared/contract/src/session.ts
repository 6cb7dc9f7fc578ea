import { permissions, roles } from '@duskline/domain';
import Type, { type Static } from 'typebox';

export const SignInSchema = Type.Object(
  {
    email: Type.String({ minLength: 3, maxLength: 200 }),
    password: Type.String({ minLength: 1, maxLength: 200 }),
  },
  { $id: 'SignIn', additionalProperties: false },
);
export type SignInJson = Static<typeof SignInSchema>;

export const SessionSchema = Type.Object(
  {
    name: Type.String(),
    email: Type.String(),
    role: Type.Enum([...roles]),
    permissions: Type.Array(Type.Enum([...permissions])),
  },
  { $id: 'Session' },
);
export type SessionJson = Static<typeof SessionSchema>;
