import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ fetch }) => ({
  quarantine: await apiClient(fetch).quarantine().catch(failLoad),
});
