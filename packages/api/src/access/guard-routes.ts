import type { Permission, SiteId } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import type { Allowed, Door } from '../door.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { bearerOf, type Authenticator } from './authenticator.ts';
import type { Principal } from './principal.ts';
import { requireOwnOrigin } from './same-origin.ts';
import { seesSite } from './seen-sites.ts';

interface GuardOptions {
  readonly authenticate: Authenticator;
  readonly secure: boolean;
  readonly origins: readonly string[];
  /** Where the node of this name stands; asked only for those who see some sites only. */
  readonly siteOfNode: (name: string) => Promise<SiteId | undefined>;
}

/** A route was registered without saying who may use it: the program does not start. */
export class RouteWithoutPolicyError extends Error {
  readonly code = 'API_ROUTE_WITHOUT_POLICY';

  constructor(method: string, url: string) {
    super(`${method} ${url} does not declare config.allow: say who may use it.`);
    this.name = 'RouteWithoutPolicyError';
  }
}

/** Who is asking. Only where the route asks for a permission: elsewhere there may be nobody. */
export function principalOf(request: FastifyRequest): Principal {
  const found = request.getDecorator<Principal | null>('principal');
  if (found === null) throw new Error('principalOf: this route is open to anyone');
  return found;
}

/** Stands before every route: it must declare who may use it, and nobody else comes through. */
export function guardRoutes(app: Door, options: GuardOptions): void {
  app.decorateRequest('principal', null);

  app.addHook('onRoute', ({ method, url, config }) => {
    if (config?.allow === undefined) throw new RouteWithoutPolicyError(String(method), url);
  });

  app.addHook('onRequest', async (request) => {
    const bearer = bearerOf(request.headers.authorization);
    // A token is no cookie: no browser sends it by itself.
    if (bearer === undefined) requireOwnOrigin(request, options);
    const { allow = 'anyone', by } = request.routeOptions.config;
    if (allow === 'anyone') return;
    const who = await options.authenticate(request.headers.cookie, bearer);
    const principal = admitted(who, { allow, by, bearer });
    await requireSeen(request, principal, options.siteOfNode);
    request.setDecorator('principal', principal);
  });
}

/** A site that is not among one's own, and what stands there, is for that person as if it were not there. */
async function requireSeen(
  { params, routeOptions }: FastifyRequest,
  { account }: Principal,
  siteOfNode: GuardOptions['siteOfNode'],
): Promise<void> {
  if (account.onlySites === undefined) return;
  const { siteId, name } = (params ?? {}) as { readonly siteId?: string; readonly name?: string };
  if (name !== undefined && routeOptions.url?.startsWith('/api/v1/nodes/:name') === true) {
    const at = await siteOfNode(name);
    if (at !== undefined && !seesSite(account, at))
      throw new ApiProblem('node-unknown', 'There is no node of this name.');
  }
  if (siteId !== undefined && !seesSite(account, siteId as SiteId))
    throw new ApiProblem(
      'site-unknown',
      'There is no site of this name. GET /api/v1/sites lists those there are.',
    );
}

function admitted(
  who: Principal | undefined,
  asked: {
    readonly allow: Exclude<Allowed, 'anyone'>;
    readonly by: 'session' | undefined;
    readonly bearer: string | undefined;
  },
): Principal {
  if (who === undefined) throw nobody(asked.bearer);
  if (!who.permissions.includes(asked.allow)) throw notAllowed(who, asked.allow);
  if (asked.by === 'session' && who.kind !== 'session')
    throw new ApiProblem(
      'session-needed',
      'A token cannot do this; sign in on the page and do it there.',
    );
  return who;
}

function nobody(bearer: string | undefined): ApiProblem {
  const headers = { 'www-authenticate': 'Bearer' };
  return bearer === undefined
    ? new ApiProblem(
        'sign-in-needed',
        'Sign in on the page, or send an API token in the header Authorization: Bearer ….',
        { headers },
      )
    : new ApiProblem(
        'token-refused',
        'This API token is not known, has expired or was ended: make a new one on the page.',
        { headers },
      );
}

function notAllowed(who: Principal, needed: Permission): ApiProblem {
  return new ApiProblem(
    'not-allowed',
    who.kind === 'token'
      ? `This needs the permission “${needed}”, which the token does not have: make one that has it.`
      : `This needs the permission “${needed}”, which a ${who.account.role} does not have: ask a keeper.`,
  );
}
