import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:fleet');
  const [fleet, visits] = await Promise.all([
    apiClient(event.fetch).fleet().catch(failLoad(event)),
    visitClient(event.fetch).around(Date.now()),
  ]);
  return { fleet, visits };
};
