import type { PersonJson, SessionJson } from '@duskline/contract';

/** Somebody who can be sent. */
export interface Goer {
  /** Empty: whoever asks. */
  readonly id: string;
  readonly name: string;
  readonly isOneself: boolean;
}

/**
 * Who can be named for a visit, oneself first. Others only for those who arrange people.
 *
 * @param people  of the whole house; of oneself the address is always known
 */
export function whoMayGo(
  people: readonly PersonJson[],
  session: Pick<SessionJson, 'name' | 'email' | 'permissions'>,
): readonly [Goer, ...Goer[]] {
  const self = people.find(({ email }) => email === session.email);
  const others = session.permissions.includes('arrange-people')
    ? people.filter(
        (one) =>
          one !== self && one.endedAt === null && one.role !== 'viewer' && one.role !== 'analyst',
      )
    : [];
  return [
    { id: self?.id ?? '', name: session.name, isOneself: true },
    ...others.map(({ id, name }) => ({ id, name, isOneself: false })),
  ];
}
