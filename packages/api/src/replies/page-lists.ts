import { createHash } from 'node:crypto';
import type { Door } from '../door.ts';
import { ApiProblem } from './api-problem.ts';

/** Lists that are given in pages to whoever asks for them: by which name the answer has the list. */
const pagedLists: Readonly<Record<string, string>> = {
  '/api/v1/accepted-gaps': 'gaps',
  '/api/v1/alerts': 'alerts',
  '/api/v1/audit': 'entries',
  '/api/v1/card-imports': 'imports',
  '/api/v1/exports': 'exports',
  '/api/v1/invitations': 'invitations',
  '/api/v1/messages': 'messages',
  '/api/v1/people': 'people',
  '/api/v1/site-groups': 'groups',
  '/api/v1/sites': 'sites',
  '/api/v1/tokens': 'tokens',
};

const MOST = 1000;
const pageQuery = {
  limit: {
    type: 'integer',
    minimum: 1,
    maximum: MOST,
    description:
      'At most so many; the header Link says where the next page is (RFC 8288, rel="next").',
  },
  after: {
    type: 'string',
    maxLength: 60,
    description: 'Goes on behind this entry; taken from Link, not to be made up.',
  },
};

/**
 * One way of paging for all lists: `limit` and `after` in, a Link to the next page out, the answer itself unchanged. Without
 * `limit` a list comes whole. A page goes on behind its last entry, so that what is added or gone before it moves nothing;
 * when that entry itself is gone, the answer is 409, and never a page with a hole.
 */
export function pageLists(app: Door): void {
  app.addHook('onRoute', (route) => {
    if (route.method !== 'GET' || pagedLists[route.url] === undefined) return;
    const query = (route.schema?.querystring ?? {}) as { readonly properties?: object };
    if ('$ref' in query)
      throw new Error(`${route.url}: its query is a component, not to be added to`);
    route.schema = {
      ...route.schema,
      querystring: {
        type: 'object',
        ...query,
        properties: { ...query.properties, ...pageQuery },
      },
    };
  });
  app.addHook('preSerialization', async (request, reply, payload) => {
    const name = pagedLists[request.routeOptions.url ?? ''];
    if (name === undefined || request.method !== 'GET' || reply.statusCode !== 200) return payload;
    const { limit, after, ...rest } = request.query as Record<string, unknown>;
    if (limit === undefined && after === undefined) return payload;
    const answer = payload as Readonly<Record<string, readonly unknown[]>>;
    const all = answer[name] ?? [];
    const from = after === undefined ? 0 : all.findIndex((one) => cursorOf(one) === after) + 1;
    if (after !== undefined && from === 0)
      throw new ApiProblem(
        'cursor-gone',
        'The entry after which this page began is no longer in the list: begin again without `after`.',
      );
    const most = typeof limit === 'number' ? limit : MOST;
    const page = all.slice(from, from + most);
    if (from + page.length < all.length) {
      const next = new URLSearchParams(
        Object.entries(rest).map(([key, value]): [string, string] => [key, String(value)]),
      );
      next.set('limit', String(most));
      next.set('after', cursorOf(page.at(-1)));
      reply.header('link', `<${request.routeOptions.url ?? ''}?${next.toString()}>; rel="next"`);
    }
    return { ...answer, [name]: page };
  });
}

/** What an entry is called: by its id where it has one, else by all it says. */
function cursorOf(entry: unknown): string {
  const { id } = entry as { readonly id?: unknown };
  const known = id === undefined ? JSON.stringify(entry) : JSON.stringify(id);
  return createHash('sha256').update(known).digest('base64url').slice(0, 16);
}
