import {
  roleAllows,
  DAY_MS,
  type AccountId,
  type Person,
  type Shift,
  type SiteGroup,
  type SiteId,
} from '@duskline/domain';
import { dutiesBetween, type Duty } from './duties.ts';

export interface RotaFacts {
  readonly people: readonly Person[];
  readonly shifts: readonly Shift[];
  readonly groups: readonly SiteGroup[];
}

/** How far ahead the next on the rota is looked for. */
const NEXT_WITHIN_MS = 35 * DAY_MS;

/** Who is on call for a site (undefined: for the fleet) at that instant, a shift for its own group first. */
export function onCallAt(
  { shifts, groups }: Omit<RotaFacts, 'people'>,
  siteId: SiteId | undefined,
  atMs: number,
): readonly Duty[] {
  return dutiesBetween(shifts, atMs, atMs + 1)
    .filter((duty) => serves(duty, groups, siteId))
    .sort((a, b) => Number(a.groupId === undefined) - Number(b.groupId === undefined));
}

/**
 * Whom to tell about an alert, one after the other, each once: whom it was handed to, who is on call, who comes next on the
 * rota, the coordinators, and where there are none of all these the keepers. About the fleet as a whole coordinators are told
 * first: the volunteers cannot mend it. People who have left or may not handle alerts are not in it.
 */
export function callChain(
  facts: RotaFacts,
  about: {
    readonly siteId?: SiteId;
    readonly handedTo?: AccountId;
    readonly atMs: number;
  },
): readonly Person[] {
  const { siteId, handedTo, atMs } = about;
  const able = facts.people.filter(
    ({ role, endedAtMs }) => endedAtMs === undefined && roleAllows(role, 'handle-alerts'),
  );
  const idsOf = (duties: readonly Duty[]) => duties.map(({ personId }) => personId);
  const onCall = idsOf(onCallAt(facts, siteId, atMs));
  const later = dutiesBetween(facts.shifts, atMs + 1, atMs + NEXT_WITHIN_MS).filter(
    (duty) => duty.fromMs > atMs && serves(duty, facts.groups, siteId),
  );
  const next = idsOf(later).find((id) => !onCall.includes(id));
  const coordinators = able.filter(({ role }) => role === 'coordinator').map(({ id }) => id);
  const keepers = able.filter(({ role }) => role === 'keeper').map(({ id }) => id);
  const rota = next === undefined ? onCall : [...onCall, next];
  const last = coordinators.length === 0 ? keepers : coordinators;
  const order = [
    ...(handedTo === undefined ? [] : [handedTo]),
    ...(siteId === undefined ? [...last, ...rota] : [...rota, ...last]),
  ];
  return [...new Set(order)].flatMap((id) => able.find((person) => person.id === id) ?? []);
}

function serves(
  { groupId }: Duty,
  groups: readonly SiteGroup[],
  siteId: SiteId | undefined,
): boolean {
  if (groupId === undefined || siteId === undefined) return groupId === undefined;
  return groups.find(({ id }) => id === groupId)?.siteIds.includes(siteId) ?? false;
}
