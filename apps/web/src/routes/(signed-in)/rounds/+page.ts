import { DAY_MS } from '@duskline/domain';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

const BACK_MS = 90 * DAY_MS;
const AHEAD_MS = 180 * DAY_MS;
/** So many visits ahead are read whole, with their rounds, so that they can be read again without coverage. */
const MOST_WHOLE = 12;

export const load: PageLoad = async (event) => {
  event.depends('duskline:rounds');
  const client = visitClient(event.fetch);
  const from = event.url.searchParams.get('from') ?? '';
  const nowMs = Date.now();
  const [rounds, visits, people, { session }] = await Promise.all([
    client.rounds(from),
    client.visits(nowMs - BACK_MS, nowMs + AHEAD_MS),
    peopleClient(event.fetch).people(),
    event.parent(),
  ]).catch(failLoad(event));
  // A token cannot have a calendar; a person can, and the page lives without.
  const calendar = await client.calendar().catch(() => ({ madeAt: null }));
  const open = visits.filter(({ state }) => state === 'planned' || state === 'under-way');
  const mine = open.filter(({ person }) => person === session.name);
  // Not waited for: the service worker keeps the answers.
  void Promise.allSettled(
    [...mine, ...open.filter((visit) => !mine.includes(visit))]
      .slice(0, MOST_WHOLE)
      .flatMap(({ id, roundId, plannedAt }) => {
        const atMs = Date.parse(plannedAt);
        return [
          client.visit(id),
          ...(roundId === null ? [] : [client.visits(atMs - DAY_MS, atMs + 2 * DAY_MS)]),
        ];
      }),
  );
  return { rounds, visits, people, calendar, from };
};
