import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch, depends }) => {
  depends('duskline:fleet');
  return { fleet: await apiClient(fetch).fleet().catch(failLoad) };
};
