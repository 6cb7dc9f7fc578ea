import { DAY_MS } from '@duskline/domain';
import { failLoad } from '$lib/fail-load.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:visit');
  const client = visitClient(event.fetch);
  const page = await client.visit(event.params.visitId).catch(failLoad(event));
  const { roundId, plannedAt } = page.visit;
  // Without its round a visit can still be made.
  const atMs = Date.parse(plannedAt);
  const round =
    roundId === null ? [] : await client.visits(atMs - DAY_MS, atMs + 2 * DAY_MS).catch(() => []);
  return {
    page,
    round: round
      .filter((one) => one.roundId === roundId)
      .sort((a, b) => (a.place ?? 0) - (b.place ?? 0)),
  };
};
