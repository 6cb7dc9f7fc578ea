import {
  InvitationListSchema,
  InvitationSchema,
  NewInvitationSchema,
  OpenInvitationSchema,
  PersonSchema,
  TakeUpSchema,
} from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { hashPassword } from '../access/passwords.ts';
import { hashSecretText, newSecretText } from '../access/secret-text.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { personJson } from '../json/person-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { KeptInvitation } from '../watch-port.ts';
import { requireBelow, requireZone } from './people-routes.ts';
import { refuseConflict } from './refuse-conflict.ts';
import { writeDown } from './write-down.ts';

const INVITATION_DAYS = 7;
const TokenParamsSchema = Type.Object({
  token: Type.String({
    minLength: 16,
    maxLength: 64,
    pattern: '^[A-Za-z0-9_-]+$',
    description: 'What the link ends in.',
  }),
});

/** People come in by a link that works once, and for a week. */
export function invitationRoutes(app: Door, { watch, now }: ApiDeps): void {
  if (watch === undefined) return;

  app.get(
    '/api/v1/invitations',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'invitations',
        tags: ['people'],
        summary: 'Invitations nobody has taken up yet',
        response: { 200: component(InvitationListSchema) },
      },
    },
    async () => ({
      invitations: (await watch.people.invitations(now())).map((one) => invitationJson(one)),
    }),
  );

  app.post(
    '/api/v1/invitations',
    {
      config: { allow: 'arrange-people', by: 'session' },
      schema: {
        operationId: 'invite',
        tags: ['people'],
        summary: 'Invite somebody',
        description:
          'Answers with the link, this once. A new one for the same address ends the old one.',
        body: component(NewInvitationSchema),
        response: { 201: component(InvitationSchema) },
      },
    },
    async (request, reply) => {
      const { account } = principalOf(request);
      const { email, name, role, groups = [] } = request.body;
      requireBelow(account.role, role);
      const known = await watch.siteGroups.list();
      const unknown = groups.find((id) => !known.some((group) => group.id === id));
      if (unknown !== undefined)
        throw new ApiProblem('site-group-unknown', 'There is no such group of sites.');
      const token = newSecretText();
      const made = await watch.people.invite({
        tokenHash: hashSecretText(token),
        email,
        name,
        role,
        groups,
        by: account.name,
        expiresAtMs: now() + INVITATION_DAYS * DAY_MS,
      });
      await watch.audit.add({
        atMs: now(),
        kind: 'invitation',
        by: account.name,
        ip: request.ip,
        subject: email,
        after: { role, groups },
      });
      reply.code(201).header('cache-control', 'no-store');
      return invitationJson(made, `/invitation/${token}`);
    },
  );

  app.delete(
    '/api/v1/invitations/:id',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'endInvitation',
        tags: ['people'],
        summary: 'End an invitation',
        params: Type.Object({ id: Type.String({ description: 'Its id.' }) }),
        response: { 204: Type.Null({ description: 'Its link opens nothing any more.' }) },
      },
    },
    async (request, reply) => {
      if (!(await watch.people.endInvitation(request.params.id))) throw over();
      await writeDown({ watch, now }, request, {
        kind: 'invitation',
        subject: `${request.params.id} taken back`,
      });
      return reply.code(204).send(null);
    },
  );

  app.get(
    '/api/v1/invitations/open/:token',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'openInvitation',
        tags: ['people'],
        summary: 'What one is invited to',
        params: TokenParamsSchema,
        response: { 200: component(OpenInvitationSchema) },
      },
    },
    async (request, reply) => {
      const found = await watch.people.findInvitation(hashSecretText(request.params.token), now());
      if (found === undefined) throw over();
      reply.header('cache-control', 'no-store');
      return { email: found.email, name: found.name, role: found.role, by: found.by };
    },
  );

  app.post(
    '/api/v1/invitations/open/:token',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'takeUpInvitation',
        tags: ['people'],
        summary: 'Take up an invitation: the account is made, and one can sign in',
        params: TokenParamsSchema,
        body: component(TakeUpSchema),
        response: { 201: component(PersonSchema) },
      },
    },
    async (request, reply) => {
      const { name, password, timeZone } = request.body;
      const hash = hashSecretText(request.params.token);
      requireZone(timeZone);
      // Looked up before the password is worked on, so that guessing links costs us nothing.
      if ((await watch.people.findInvitation(hash, now())) === undefined) throw over();
      const passwordHash = await hashPassword(password);
      const account = await refuseConflict(
        () => watch.people.acceptInvitation(hash, { name, passwordHash, timeZone }, now()),
        new ApiProblem('person-refused', 'There is an account for this address already: sign in.'),
      );
      if (account === undefined) throw over();
      const person = await watch.people.find(account.id);
      if (person === undefined) throw over();
      await watch.audit.add({
        atMs: now(),
        kind: 'account-made',
        by: person.name,
        ip: request.ip,
        subject: person.name,
        after: { role: person.role },
      });
      reply.code(201).header('cache-control', 'no-store');
      return personJson(person, true);
    },
  );
}

const invitationJson = (
  { expiresAtMs, groups, ...one }: KeptInvitation,
  link: string | null = null,
) => ({
  id: one.id,
  email: one.email,
  name: one.name,
  role: one.role,
  groups: [...groups],
  by: one.by,
  expiresAt: instant(expiresAtMs),
  link,
});

const over = (): ApiProblem =>
  new ApiProblem('link-over', 'This invitation was used, was ended or is over: ask for a new one.');
