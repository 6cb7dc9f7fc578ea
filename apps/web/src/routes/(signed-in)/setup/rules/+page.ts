import { error } from '@sveltejs/kit';
import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import { text } from '$lib/text/en.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:rules');
  const { session } = await event.parent();
  if (!session.permissions.includes('change-nodes'))
    error(403, { message: text.failure.notAllowed, code: 'NOT_ALLOWED' });
  const house = peopleClient(event.fetch);
  const [rules, gaps, list] = await Promise.all([
    house.rules(),
    house.gaps(),
    apiClient(event.fetch).sites(),
  ]).catch(failLoad(event));
  return { rules, gaps, sites: list.sites };
};
