import type { AlertLinkJson } from '@duskline/contract';
import { ApiProblem } from '$lib/api-client.ts';
import { watchClient } from '$lib/alerts/watch-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';

/** Asking changes nothing: only the button takes. A link that is over is a normal day. */
export const load: PageLoad = async (event) => {
  const { token } = event.params;
  const found = await watchClient(event.fetch)
    .link(token)
    .catch((cause: unknown): AlertLinkJson | undefined => {
      const over = cause instanceof ApiProblem && [400, 404, 409, 410].includes(cause.status);
      return over ? undefined : failLoad(event)(cause);
    });
  return { token, found };
};
