import { apiClient } from '$lib/api-client.ts';
import { exportClient } from '$lib/export/export-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:exports');
  const [fleet, exports] = await Promise.all([
    apiClient(event.fetch).fleet(),
    exportClient(event.fetch).list(),
  ]).catch(failLoad(event));
  return { sites: fleet.rows.map(({ site }) => site), exports };
};
