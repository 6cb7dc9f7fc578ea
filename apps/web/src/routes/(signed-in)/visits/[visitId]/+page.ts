import { DAY_MS } from '@duskline/domain';
import { failLoad } from '$lib/fail-load.ts';
import { keptPlan, pageOfPlan } from '$lib/visits/local-plan.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async (event) => {
  event.depends('duskline:visit');
  const client = visitClient(event.fetch);
  const { session } = await event.parent();
  // One that was begun without coverage is known on this device only.
  const page = await client.visit(event.params.visitId).catch((cause: unknown) => {
    const plan = keptPlan(localStorage, session.email, event.params.visitId);
    return plan === undefined ? failLoad(event)(cause) : pageOfPlan(plan);
  });
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
