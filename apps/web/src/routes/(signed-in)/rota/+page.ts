import { DAY_MS } from '@duskline/domain';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

const SHOWN_MS = 28 * DAY_MS;

export const load: PageLoad = async (event) => {
  event.depends('duskline:rota');
  const house = peopleClient(event.fetch);
  // To the day: the same question again finds the last answer on this device.
  const fromMs = Math.floor(Date.now() / DAY_MS) * DAY_MS;
  const client = visitClient(event.fetch);
  const [rota, people, groups, visits, sites] = await Promise.all([
    house.rota(fromMs, fromMs + SHOWN_MS),
    house.people(),
    house.groups(),
    client.around(fromMs),
    // By when each site wants somebody: the page lives without.
    client.rounds().then(
      (rounds) => rounds.sites,
      () => [],
    ),
  ]).catch(failLoad(event));
  return { rota, people, groups, visits, sites };
};
