import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  const { fetch, params, depends } = event;
  depends('duskline:site');
  return { site: await apiClient(fetch).site(params.siteId).catch(failLoad(event)) };
};
