import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { LayoutLoad } from './$types';

/** Who is signed in. */
export const load: LayoutLoad = async (event) => {
  event.depends('duskline:session');
  return { session: await apiClient(event.fetch).session().catch(failLoad(event)) };
};
