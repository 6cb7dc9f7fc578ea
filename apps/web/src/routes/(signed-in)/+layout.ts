import { error, redirect } from '@sveltejs/kit';
import { apiClient, ApiProblem } from '$lib/api-client.ts';
import type { LayoutLoad } from './$types';

/** Who is signed in; nobody is sent to the sign-in page and back afterwards. */
export const load: LayoutLoad = async ({ fetch, url, depends }) => {
  depends('duskline:session');
  try {
    return { session: await apiClient(fetch).session() };
  } catch (cause) {
    if (!(cause instanceof ApiProblem)) throw cause;
    if (cause.status === 401) {
      redirect(307, `/sign-in?next=${encodeURIComponent(url.pathname + url.search)}`);
    }
    error(cause.status === 0 ? 503 : cause.status, { message: cause.message, code: cause.code });
  }
};
