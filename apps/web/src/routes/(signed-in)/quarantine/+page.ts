import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:quarantine');
  const chosen = (key: string) => event.url.searchParams.get(key) ?? undefined;
  const [node, code, after] = [chosen('node'), chosen('code'), chosen('after')];
  const query = {
    ...(node === undefined ? {} : { node }),
    ...(code === undefined ? {} : { code }),
    ...(after === undefined ? {} : { after }),
  };
  return {
    choice: { node, code },
    quarantine: await apiClient(event.fetch).quarantine(query).catch(failLoad(event)),
  };
};
