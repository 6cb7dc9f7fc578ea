import { error, redirect } from '@sveltejs/kit';
import { ApiProblem } from './api-client.ts';

/**
 * What a `load` does with the API's problem: nobody signed in goes to the sign-in and comes back afterwards, all else is
 * the page's error. A bug stays a bug.
 *
 * @param event  of the load; its address is read only when it is needed, so that nothing is loaded again because of it
 */
export const failLoad =
  (event: { readonly url: URL }) =>
  (cause: unknown): never => {
    if (!(cause instanceof ApiProblem)) throw cause;
    if (cause.status === 401) {
      const { pathname, search } = event.url;
      redirect(307, `/sign-in?next=${encodeURIComponent(pathname + search)}`);
    }
    error(cause.status === 0 ? 503 : cause.status, { message: cause.message, code: cause.code });
  };
