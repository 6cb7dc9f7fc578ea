import type { FleetFacts } from '@duskline/alerts';
import type { KeptVisit, Store } from '@duskline/store';

/** Who is out, one entry for each person and round: several sites of one trip are one person to look for. */
export async function tripsOut(store: Store): Promise<NonNullable<FleetFacts['visitsOut']>> {
  const out = await store.visits.out();
  if (out.length === 0) return [];
  const [people, sites] = await Promise.all([store.people.list(), store.sites.list()]);
  const trips = new Map<string, KeptVisit[]>();
  for (const visit of out) {
    const key = `${visit.round?.id ?? visit.id} ${visit.personId}`;
    trips.set(key, [...(trips.get(key) ?? []), visit]);
  }
  return [...trips.values()].flatMap((visits) => {
    const [first] = visits;
    if (first === undefined) return [];
    const times = visits.map(({ backByMs = 0 }) => backByMs);
    const places = visits.map(({ siteId }) => sites.find(({ id }) => id === siteId));
    return [
      {
        subject: `visit:${first.round?.id ?? first.id}`,
        who: first.person,
        phone: people.find(({ id }) => id === first.personId)?.phone ?? '',
        companions: first.companions,
        siteNames: places.map((site, i) => site?.name ?? visits[i]?.siteId ?? ''),
        setOutAtMs: Math.min(...visits.map(({ setOutAtMs = 0 }) => setOutAtMs)),
        backByMs: Math.max(...times),
        timeZone: places[0]?.timeZone ?? 'UTC',
      },
    ];
  });
}
