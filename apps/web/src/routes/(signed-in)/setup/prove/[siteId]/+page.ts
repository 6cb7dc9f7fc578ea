import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  const { row } = await apiClient(event.fetch).site(event.params.siteId).catch(failLoad(event));
  return { id: row.site.id, name: row.site.name };
};
