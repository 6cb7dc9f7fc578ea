import type { SessionJson } from '@duskline/contract';
import type { Principal } from '../access/principal.ts';

export const sessionJson = ({ account, permissions }: Principal): SessionJson => ({
  name: account.name,
  email: account.email,
  role: account.role,
  permissions: [...permissions],
});
