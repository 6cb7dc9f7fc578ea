import type { OpenInvitationJson } from '@duskline/contract';
import { ApiProblem } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import type { PageLoad } from './$types';

/** An invitation that is over is a normal day. */
export const load: PageLoad = async (event) => {
  const { token } = event.params;
  const invitation = await peopleClient(event.fetch)
    .openInvitation(token)
    .catch((cause: unknown): OpenInvitationJson | undefined => {
      const over = cause instanceof ApiProblem && [400, 404, 409, 410].includes(cause.status);
      return over ? undefined : failLoad(event)(cause);
    });
  return { token, invitation };
};
