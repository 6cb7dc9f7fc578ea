import { permissions, roles, type Permission, type Role } from '@duskline/domain';
import fastify from 'fastify';
import { beforeAll, describe, expect, it } from 'vitest';
import { sha256 } from '../../testing/fake-ports.ts';
import { everyPort } from '../../testing/every-port.ts';
import { openApi, type OpenApi, OWN_ORIGIN } from '../../testing/open-api.ts';
import type { Allowed, Door } from '../door.ts';
import { newApiToken } from './api-token.ts';
import { guardRoutes, RouteWithoutPolicyError } from './guard-routes.ts';

/** Who may do what, written down by hand from the roles in the design: the test's own truth. */
const mayDo: Readonly<Record<Role, readonly Permission[]>> = {
  viewer: ['read'],
  analyst: ['read', 'export'],
  volunteer: ['read', 'handle-alerts'],
  builder: ['read', 'handle-alerts', 'change-nodes'],
  coordinator: ['read', 'export', 'handle-alerts', 'change-nodes', 'arrange-people'],
  keeper: ['read', 'export', 'handle-alerts', 'change-nodes', 'arrange-people', 'administer'],
};

/** `by session`: a token cannot. */
type Policy = Allowed | `${Permission}, by session`;

/** Every route there is, and what it must ask for. A route that is not here fails the test. */
const policy: Readonly<Record<string, Policy>> = {
  'GET /healthz': 'anyone',
  'GET /readyz': 'anyone',
  'GET /*': 'anyone',
  'GET /api/v1/openapi.json': 'anyone',
  'GET /api/v1/problems/:code': 'anyone',
  'POST /api/v1/session': 'anyone',
  'DELETE /api/v1/session': 'anyone',
  'GET /api/v1/session': 'read',
  'GET /api/v1/fleet': 'read',
  'GET /api/v1/sites': 'read',
  'GET /api/v1/sites/:siteId': 'read',
  'GET /api/v1/sites/:siteId/readings': 'read',
  'GET /api/v1/quality-rules': 'read',
  'GET /api/v1/sites/:siteId/quality-limits': 'read',
  'PUT /api/v1/sites/:siteId/quality-limits': 'change-nodes',
  'PUT /api/v1/sites/:siteId/land-owner': 'handle-alerts',
  'GET /api/v1/nodes/:name/quality-limits': 'read',
  'PUT /api/v1/nodes/:name/quality-limits': 'change-nodes',
  'GET /api/v1/parts/:partId/quality-limits': 'read',
  'PUT /api/v1/parts/:partId/quality-limits': 'change-nodes',
  'GET /api/v1/alerts': 'read',
  'POST /api/v1/alerts/:id/take': 'handle-alerts',
  'POST /api/v1/alerts/:id/seen': 'handle-alerts',
  'POST /api/v1/sites': 'change-nodes',
  'POST /api/v1/sites/:siteId/node': 'change-nodes',
  'POST /api/v1/nodes/:name/secret': 'change-nodes',
  'POST /api/v1/sizing': 'read',
  'POST /api/v1/runtime': 'read',
  'GET /api/v1/quarantine': 'change-nodes',
  'POST /api/v1/quarantine/replay': 'change-nodes',
  'GET /api/v1/tokens': 'read, by session',
  'POST /api/v1/tokens': 'read, by session',
  'DELETE /api/v1/tokens/:id': 'read, by session',
  'GET /metrics': 'read',
  'GET /api/v1/nodes/:name/learnt': 'read',
  'POST /api/v1/nodes/:name/learnt/reset': 'change-nodes',
  'GET /api/v1/nodes/:name/outlooks': 'read',
  'GET /api/v1/nodes/:name/outlooks/:id/inputs': 'read',
  'POST /api/v1/nodes/:name/what-if': 'read',
  'GET /api/v1/nodes/:name/what-helps': 'read',
  'GET /api/v1/nodes/:name/season': 'read',
  'GET /api/v1/nodes/:name/settings': 'read',
  'POST /api/v1/nodes/:name/settings': 'change-nodes',
  'GET /api/v1/nodes/:name/diagnoses': 'read',
  'GET /api/v1/sites/:siteId/story': 'read',
  'POST /api/v1/sites/:siteId/notes': 'handle-alerts',
  'GET /api/v1/sites/:siteId/outside-forecasts': 'read',
  'POST /api/v1/sites/:siteId/outside-forecasts': 'change-nodes',
  'GET /api/v1/sites/:siteId/parts': 'read',
  'POST /api/v1/sites/:siteId/parts': 'change-nodes',
  'POST /api/v1/sites/:siteId/parts/:partId/replace': 'change-nodes',
  'POST /api/v1/sites/:siteId/parts/:partId/remove': 'change-nodes',
  'GET /api/v1/sites/:siteId/photos': 'handle-alerts',
  'GET /api/v1/sites/:siteId/photos/:photoId': 'handle-alerts',
  'POST /api/v1/sites/:siteId/photos': 'handle-alerts',
  'DELETE /api/v1/sites/:siteId/photos/:photoId': 'change-nodes',
  'PATCH /api/v1/sites/:siteId/marks': 'change-nodes',
  'GET /api/v1/score': 'read',
  'GET /api/v1/map': 'read',
  'GET /api/v1/card-imports': 'read',
  'POST /api/v1/card-imports': 'change-nodes',
  'GET /api/v1/card-imports/:id': 'read',
  'DELETE /api/v1/card-imports/:id': 'change-nodes',
  'GET /api/v1/card-imports/:id/conflicts': 'read',
  'PUT /api/v1/card-imports/:id/files/:place': 'change-nodes',
  'PUT /api/v1/card-imports/:id/settings': 'change-nodes',
  'POST /api/v1/card-imports/:id/store': 'change-nodes',
  'POST /api/v1/card-imports/:id/stop': 'change-nodes',
  'GET /api/v1/exports': 'export',
  'POST /api/v1/exports': 'export',
  'POST /api/v1/exports/estimate': 'export',
  'GET /api/v1/exports/:id': 'export',
  'DELETE /api/v1/exports/:id': 'export',
  'GET /api/v1/exports/:id/file': 'export',
  'GET /api/v1/availability': 'read',
  'GET /api/v1/availability.csv': 'read',
  'GET /api/sta/v1.1': 'read',
  'GET /api/sta/v1.1/:first': 'read',
  'GET /api/sta/v1.1/:first/:second': 'read',
  'GET /api/sta/v1.1/:first/:second/:third': 'read',
  'GET /api/sta/v1.1/:first/:second/:third/:fourth': 'read',
  'GET /api/sta/v1.1/:first/:second/:third/:fourth/:fifth': 'read',
  // Whoever holds the link: it names one person and one alert, and ends.
  'GET /api/v1/alert-links/:token': 'anyone',
  'POST /api/v1/alert-links/:token': 'anyone',
  'GET /api/v1/alerts/:id': 'read',
  'POST /api/v1/alerts/:id/steps': 'handle-alerts',
  'GET /api/v1/messages': 'handle-alerts',
  'GET /api/v1/invitations': 'arrange-people',
  'POST /api/v1/invitations': 'arrange-people, by session',
  'DELETE /api/v1/invitations/:id': 'arrange-people',
  'GET /api/v1/invitations/open/:token': 'anyone',
  'POST /api/v1/invitations/open/:token': 'anyone',
  'GET /api/v1/me': 'read',
  'PATCH /api/v1/me': 'read, by session',
  'POST /api/v1/me/channels': 'read, by session',
  'DELETE /api/v1/me/channels/:id': 'read, by session',
  'POST /api/v1/me/channels/:id/test': 'read, by session',
  'GET /api/v1/people': 'read',
  'PATCH /api/v1/people/:id': 'arrange-people, by session',
  'DELETE /api/v1/people/:id': 'arrange-people, by session',
  'GET /api/v1/site-groups': 'read',
  'POST /api/v1/site-groups': 'arrange-people',
  'PUT /api/v1/site-groups/:id': 'arrange-people',
  'DELETE /api/v1/site-groups/:id': 'arrange-people',
  'GET /api/v1/audit': 'administer',
  'GET /api/v1/rota': 'read',
  'POST /api/v1/shifts': 'arrange-people',
  'DELETE /api/v1/shifts/:id': 'arrange-people',
  'POST /api/v1/shifts/:id/exceptions': 'arrange-people',
  'POST /api/v1/shifts/:id/swaps': 'handle-alerts',
  'GET /api/v1/alert-health': 'read',
  'GET /api/v1/rounds': 'read',
  'POST /api/v1/rounds': 'handle-alerts',
  'GET /api/v1/sites/:siteId/field-sheet': 'read',
  'GET /api/v1/visits': 'read',
  'POST /api/v1/visits': 'handle-alerts',
  'POST /api/v1/visits/:id/move': 'handle-alerts',
  'GET /api/v1/visits/:id': 'read',
  'POST /api/v1/visits/:id/steps': 'handle-alerts',
  'GET /api/v1/me/calendar': 'read, by session',
  'POST /api/v1/me/calendar': 'read, by session',
  'DELETE /api/v1/me/calendar': 'read, by session',
  // Programs that show calendars cannot sign in: the address is the secret.
  'GET /api/v1/calendars/:file': 'anyone',
  'GET /api/v1/accepted-gaps': 'read',
  'POST /api/v1/accepted-gaps': 'arrange-people',
  'DELETE /api/v1/accepted-gaps/:id': 'arrange-people',
  'GET /api/v1/rules': 'read',
  'PUT /api/v1/rule-settings': 'change-nodes',
};

/** Some 1,500 questions on a machine that does other things as well. */
const PATIENCE_MS = 180_000;

interface Who {
  readonly name: string;
  /** Anew for every request: one of them signs out. */
  readonly headers: () => Readonly<Record<string, string>>;
  readonly may: readonly Permission[];
  readonly kind: 'nobody' | 'session' | 'token';
}

describe('who may do what', () => {
  let api: OpenApi;
  let everybody: readonly Who[];
  let routes: readonly (readonly [method: string, path: string])[];

  beforeAll(async () => {
    api = await openApi({ door: { secure: false, webRoot: '/nonexistent' }, ...everyPort });
    routes = registered(api);
    const { fleet } = api;
    const person = (role: Role): Who => ({
      name: `a ${role}`,
      headers: () => ({ cookie: `duskline=${fleet.openSession(role)}`, origin: OWN_ORIGIN }),
      may: mayDo[role],
      kind: 'session',
    });
    const program = async (
      role: Role,
      scope: readonly Permission[],
      days: number,
    ): Promise<Who> => {
      const { token, hash } = newApiToken(scope);
      const { account } = (await fleet.deps.accounts.findByEmail(`${role}@greywater.example`))!;
      await fleet.deps.accounts.createToken({
        accountId: account.id,
        name: 'test',
        tokenHash: hash,
        expiresAtMs: fleet.deps.now() + days * 86_400_000,
      });
      return {
        name: `a token of a ${role} for ${scope.join(', ')}${days < 0 ? ', expired' : ''}`,
        headers: () => ({ authorization: `Bearer ${token}` }),
        may: days < 0 ? [] : scope.filter((one) => mayDo[role].includes(one)),
        kind: days < 0 ? 'nobody' : 'token',
      };
    };
    const nobody = (name: string, headers: Record<string, string>): Who => ({
      name,
      headers: () => headers,
      may: [],
      kind: 'nobody',
    });
    const ended = fleet.openSession('keeper');
    await fleet.deps.accounts.endSession(sha256(ended));
    everybody = [
      ...roles.map(person),
      await program('keeper', permissions, 1),
      await program('keeper', ['read'], 1),
      await program('viewer', permissions, 1),
      await program('keeper', permissions, -1),
      nobody('nobody', { origin: OWN_ORIGIN }),
      nobody('somebody who signed out', { cookie: `duskline=${ended}`, origin: OWN_ORIGIN }),
      nobody('a made-up session', { cookie: 'duskline=guess', origin: OWN_ORIGIN }),
      nobody('a made-up token', { authorization: `Bearer dl_rxhca_${'A'.repeat(43)}` }),
      nobody('a good session beside a bad token', {
        cookie: `duskline=${fleet.openSession('keeper')}`,
        authorization: 'Bearer nonsense',
        origin: OWN_ORIGIN,
      }),
    ];
  }, PATIENCE_MS);

  it('is written down for every route there is, and for none there is not', () => {
    expect(routes.map(([method, path]) => `${method} ${path}`).sort()).toEqual(
      Object.keys(policy).sort(),
    );
  });

  it(
    'holds for everybody at every route',
    async () => {
      const wrong: string[] = [];
      let cells = 0;
      for (const [method, path] of routes) {
        for (const who of everybody) {
          const allowed = policy[`${method} ${path}`] ?? 'anyone';
          const url = path.replaceAll(/:\w+/g, 'none').replace('*', 'page');
          const { statusCode } = await api.app.inject({
            method: method as 'GET',
            url,
            headers: who.headers(),
          });
          const outcome = statusCode === 401 ? 401 : statusCode === 403 ? 403 : 'in';
          const expected = expectedOf(who, allowed);
          cells += 1;
          if (outcome !== expected)
            wrong.push(`${who.name}: ${method} ${path}: ${statusCode}, not ${expected}`);
        }
      }
      expect(wrong).toEqual([]);
      expect(cells).toBe(Object.keys(policy).length * 15);
    },
    PATIENCE_MS,
  );

  it('cannot be widened by editing the permissions in a token', async () => {
    const { token, hash } = newApiToken(['read']);
    const keeper = (await api.fleet.deps.accounts.findByEmail('keeper@greywater.example'))!;
    await api.fleet.deps.accounts.createToken({
      accountId: keeper.account.id,
      name: 'narrow',
      tokenHash: hash,
    });
    const ask = async (bearer: string) =>
      (await api.ask({ url: '/api/v1/sites', headers: { authorization: `Bearer ${bearer}` } }))
        .statusCode;
    expect(await ask(token)).toBe(200);
    expect(await ask(token.replace('dl_r_', 'dl_rxhcpa_'))).toBe(401);
  });

  it('must be declared: a route without a policy is refused when it is registered', () => {
    const app = fastify() as unknown as Door;
    guardRoutes(app, {
      authenticate: async () => undefined,
      secure: false,
      origins: [],
      siteOfNode: () => Promise.resolve(undefined),
    });
    expect(() => app.get('/open', async () => 'hello')).toThrow(RouteWithoutPolicyError);
    expect(() => app.get('/said', { config: { allow: 'read' } }, async () => 'hi')).not.toThrow();
  });

  it('says what is needed, and of whom to ask it', async () => {
    const refused = await api.ask({ url: '/api/v1/quarantine', as: 'viewer' });
    expect(refused.json()).toMatchObject({ status: 403, code: 'not-allowed' });
    expect(refused.json<{ detail: string }>().detail).toContain('change-nodes');
    const nobody = await api.ask({ url: '/api/v1/fleet' });
    expect(nobody.statusCode).toBe(401);
    // RFC 9110 §15.5.2: a 401 carries a challenge.
    expect(nobody.headers['www-authenticate']).toBe('Bearer');
  });
});

function expectedOf(who: Who, policy: Policy): 401 | 403 | 'in' {
  if (policy === 'anyone') return 'in';
  if (who.kind === 'nobody') return 401;
  const [permission, bySession] = policy.split(', ') as [Permission, string?];
  if (!who.may.includes(permission)) return 403;
  return bySession !== undefined && who.kind === 'token' ? 403 : 'in';
}

/** The routes as the server itself lists them; HEAD comes with GET. */
function registered({ app }: OpenApi): (readonly [string, string])[] {
  const trails: string[] = [];
  return app
    .printRoutes({ commonPrefix: false })
    .split('\n')
    .flatMap((line) => {
      const found = /^([│ ]*)[├└]── (\S+) \(([A-Z, ]+)\)$/.exec(line);
      const folder = /^([│ ]*)[├└]── (\S+)$/.exec(line);
      const [, indent = '', part = ''] = found ?? folder ?? [];
      trails.length = indent.length / 4;
      trails.push(part);
      return (found?.[3] ?? '')
        .split(', ')
        .filter((method) => method !== '' && method !== 'HEAD')
        .map((method) => [method, trails.join('').replace(/^\*/, '/*')] as const);
    });
}
