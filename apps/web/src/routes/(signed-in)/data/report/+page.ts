import { exportClient } from '$lib/export/export-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

const FIRST_YEAR = 2020;

export const load: PageLoad = async (event) => {
  const now = new Date().getUTCFullYear();
  const asked = Number(event.url.searchParams.get('year'));
  const year = Number.isInteger(asked) && asked >= FIRST_YEAR && asked <= now ? asked : now;
  const from = `${year}-01-01T00:00:00Z`;
  const to = `${year + 1}-01-01T00:00:00Z`;
  const report = await exportClient(event.fetch).availability(from, to).catch(failLoad(event));
  return { year, now, from, to, report };
};
