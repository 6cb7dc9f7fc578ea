import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  const { fetch, params, depends } = event;
  depends('duskline:site');
  const [site, visits, rules] = await Promise.all([
    apiClient(fetch).site(params.siteId).catch(failLoad(event)),
    visitClient(fetch).around(Date.now(), params.siteId),
    // Only one sentence hangs on them: without coverage the page does without it.
    peopleClient(fetch)
      .rules()
      .catch(() => undefined),
  ]);
  return { site, visits, rules };
};
