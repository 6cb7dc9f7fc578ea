import type { PersonJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { whoMayGo } from './who-may-go.ts';

const person = (over: Partial<PersonJson>): PersonJson => ({
  id: 'p1',
  name: 'Keeper',
  role: 'coordinator',
  endedAt: null,
  groups: [],
  timeZone: 'UTC',
  email: 'keeper@moor.example',
  phone: null,
  quiet: null,
  channels: null,
  ...over,
});
const people = [
  person({ id: 'p2', name: 'Ash Fell', role: 'volunteer', email: 'ash@moor.example' }),
  person({}),
  person({ id: 'p3', name: 'Gone', email: null, endedAt: '2026-01-01T00:00:00Z' }),
  person({ id: 'p4', name: 'Reader', email: null, role: 'viewer' }),
];
const session = { name: 'Keeper', email: 'keeper@moor.example' };

describe('who can be named for a visit', () => {
  it('is oneself first, then everybody who may be sent', () => {
    const names = whoMayGo(people, { ...session, permissions: ['arrange-people'] });
    expect(names).toEqual([
      { id: 'p1', name: 'Keeper', isOneself: true },
      { id: 'p2', name: 'Ash Fell', isOneself: false },
    ]);
  });

  it('is only oneself for who does not arrange people', () => {
    expect(whoMayGo(people, { ...session, permissions: [] })).toHaveLength(1);
    expect(whoMayGo([], { ...session, permissions: [] })).toEqual([
      { id: '', name: 'Keeper', isOneself: true },
    ]);
  });
});
