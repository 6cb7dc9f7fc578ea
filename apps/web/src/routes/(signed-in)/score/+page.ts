import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

const choices = ['all', 'issued', 'hindcasts'] as const;

export const load: PageLoad = async (event) => {
  const wanted = event.url.searchParams.get('of');
  const of = choices.find((one) => one === wanted) ?? 'all';
  return { score: await apiClient(event.fetch).score({ of }).catch(failLoad(event)) };
};
