import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:people');
  const { session } = await event.parent();
  const arranges = session.permissions.includes('arrange-people');
  const house = peopleClient(event.fetch);
  const [me, people, groups, invitations, list] = await Promise.all([
    house.me(),
    house.people(),
    house.groups(),
    arranges ? house.invitations() : [],
    apiClient(event.fetch).sites(),
  ]).catch(failLoad(event));
  return { arranges, me, people, groups, invitations, sites: list.sites };
};
