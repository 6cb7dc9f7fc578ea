import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => ({
  sites: (await apiClient(event.fetch).fleet().catch(failLoad(event))).rows.map(({ site }) => site),
});
