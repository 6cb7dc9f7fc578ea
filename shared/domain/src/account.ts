import type { AccountId, SiteId } from './ids.ts';

/** What a person may do; each role includes the ones before it only where `roleAllows` says so. */
export const roles = [
  'viewer',
  'analyst',
  'volunteer',
  'builder',
  'coordinator',
  'keeper',
] as const;
export type Role = (typeof roles)[number];

export interface Account {
  readonly id: AccountId;
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  /** Set: sees these sites only. A volunteer who belongs to groups of sites. */
  readonly onlySites?: readonly SiteId[];
}

/** What a route or a socket event asks of its caller. */
export const permissions = [
  'read',
  'export',
  'handle-alerts',
  'change-nodes',
  'arrange-people',
  'administer',
] as const;
export type Permission = (typeof permissions)[number];

const granted: Readonly<Record<Role, readonly Permission[]>> = {
  viewer: ['read'],
  analyst: ['read', 'export'],
  volunteer: ['read', 'handle-alerts'],
  builder: ['read', 'handle-alerts', 'change-nodes'],
  coordinator: ['read', 'export', 'handle-alerts', 'change-nodes', 'arrange-people'],
  keeper: ['read', 'export', 'handle-alerts', 'change-nodes', 'arrange-people', 'administer'],
};

/** May someone with this role do that? */
export const roleAllows = (role: Role, permission: Permission): boolean =>
  granted[role].includes(permission);
