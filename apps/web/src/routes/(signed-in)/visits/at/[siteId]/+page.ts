import { failLoad } from '$lib/fail-load.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:sheet');
  return {
    sheet: await visitClient(event.fetch).sheet(event.params.siteId).catch(failLoad(event)),
  };
};
