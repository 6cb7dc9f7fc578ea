import { SessionSchema, SignInSchema } from '@duskline/contract';
import { SECOND_MS } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { createPasswordCheck } from '../access/passwords.ts';
import { principal } from '../access/principal.ts';
import { hashSecretText, newSecretText } from '../access/secret-text.ts';
import { SESSION_MS, type SessionCookie } from '../access/session-cookie.ts';
import { createSignInThrottle } from '../access/sign-in-throttle.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { sessionJson } from '../json/session-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';

export async function sessionRoutes(
  app: Door,
  deps: ApiDeps,
  cookie: SessionCookie,
): Promise<void> {
  const { accounts, now, throttle = createSignInThrottle(), onSessionEnd } = deps;
  const checkPassword = await createPasswordCheck();

  /** Whoever signs in leaves the session they came with; its cookie opens nothing any more. */
  async function endSession(request: FastifyRequest): Promise<void> {
    const token = cookie.read(request.headers.cookie);
    if (token === undefined || token === '') return;
    const hash = hashSecretText(token);
    const account = await accounts.findSession(hash);
    await accounts.endSession(hash);
    if (account !== undefined) onSessionEnd?.(account);
  }

  app.post(
    '/api/v1/session',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'signIn',
        tags: ['access'],
        summary: 'Sign in',
        description:
          'Sets the session cookie. The answer to a wrong address and to a wrong password is the same.',
        body: component(SignInSchema),
        response: { 200: component(SessionSchema) },
      },
    },
    async (request, reply) => {
      const { email, password } = request.body;
      const attempt = { account: email.trim().toLowerCase(), ip: request.ip };
      const waitMs = await throttle.admit(attempt, now());
      if (waitMs > 0) throw tooMany(waitMs);
      const found = await accounts.findByEmail(email.trim());
      const outcome = await checkPassword(password, found?.passwordHash);
      if (outcome === 'busy') throw tooMany(SECOND_MS);
      const noted = (kind: string) =>
        deps.watch?.audit.add({
          atMs: now(),
          kind,
          ip: request.ip,
          subject: found?.account.name ?? 'unknown account',
        });
      if (outcome === 'wrong' || found === undefined) {
        await noted('sign-in-refused');
        throw new ApiProblem(
          'sign-in-refused',
          'Address and password do not belong together. Check both; capitals count in the password.',
        );
      }
      await noted('sign-in');
      await throttle.forgive(attempt);
      await endSession(request);
      const token = newSecretText();
      await accounts.createSession(found.account.id, hashSecretText(token), now() + SESSION_MS);
      reply.headers({ 'set-cookie': cookie.write(token), 'cache-control': 'no-store' });
      return sessionJson(principal(found.account));
    },
  );

  app.get(
    '/api/v1/session',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'whoAmI',
        tags: ['access'],
        summary: 'Who am I, and what may I do?',
        response: { 200: component(SessionSchema) },
      },
    },
    async (request, reply) => {
      reply.header('cache-control', 'no-store');
      return sessionJson(principalOf(request));
    },
  );

  app.delete(
    '/api/v1/session',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'signOut',
        tags: ['access'],
        summary: 'Sign out',
        description: 'Ends the session here, clears the cookie, and closes its live connections.',
        response: { 204: Type.Null({ description: 'Signed out.' }) },
      },
    },
    async (request, reply) => {
      await endSession(request);
      reply.header('set-cookie', cookie.clear());
      return reply.code(204).send(null);
    },
  );
}

function tooMany(waitMs: number): ApiProblem {
  const waitS = Math.ceil(waitMs / SECOND_MS);
  return new ApiProblem(
    'too-many-attempts',
    `Nothing was checked this time. Wait ${waitS} s and try again; nobody is locked out.`,
    { headers: { 'retry-after': String(waitS) } },
  );
}
