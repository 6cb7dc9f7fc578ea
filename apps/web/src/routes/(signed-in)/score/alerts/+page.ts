import { watchClient } from '$lib/alerts/watch-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  const asked = Number(event.url.searchParams.get('days') ?? '90');
  const days = [7, 30, 90, 365].includes(asked) ? asked : 90;
  return { days, health: await watchClient(event.fetch).health(days).catch(failLoad(event)) };
};
