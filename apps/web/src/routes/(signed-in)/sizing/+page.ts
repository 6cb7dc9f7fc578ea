import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  const api = apiClient(event.fetch);
  const siteId = event.url.searchParams.get('site');
  const [{ sites }, begun] = await Promise.all([
    api.sites().catch(failLoad(event)),
    siteId === null ? null : api.site(siteId).catch(failLoad(event)),
  ]);
  return { sites, begun };
};
