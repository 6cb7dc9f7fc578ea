import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => ({
  quarantine: await apiClient(event.fetch).quarantine().catch(failLoad(event)),
});
