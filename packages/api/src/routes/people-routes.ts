import {
  NewSiteGroupSchema,
  PersonChangeSchema,
  PersonListSchema,
  PersonSchema,
  SiteGroupListSchema,
  SiteGroupSchema,
  AuditListSchema,
} from '@duskline/contract';
import {
  accountId,
  DAY_MS,
  roles,
  type AccountId,
  type Person,
  type Role,
  type SiteId,
} from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { personJson } from '../json/person-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';
import { rangeProblem } from './body-instant.ts';
import { refuseConflict } from './refuse-conflict.ts';
import { writeDown } from './write-down.ts';

const CALLED_WITHIN_MS = 7 * DAY_MS;
const IdParamsSchema = Type.Object({ id: Type.String({ maxLength: 40, description: 'Its id.' }) });

/** People and the groups of sites they look after. */
export function peopleRoutes(app: Door, deps: ApiDeps): void {
  const { watch } = deps;
  if (watch === undefined) return;
  personRoutes(app, { ...deps, watch });
  groupRoutes(app, { watch, now: deps.now });
  auditRoutes(app, watch);
}

function personRoutes(
  app: Door,
  { watch, now, onSessionEnd }: ApiDeps & { watch: WatchPorts },
): void {
  app.get(
    '/api/v1/people',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'people',
        tags: ['people'],
        summary: 'Everybody, by name',
        description:
          'Addresses are shown to whoever arranges people. Whoever handles alerts also sees the telephone numbers they may have to call: those of the coordinators, and of who is on call within a week.',
        response: { 200: component(PersonListSchema) },
      },
    },
    async (request) => {
      const { account, permissions } = principalOf(request);
      const whole = permissions.includes('arrange-people');
      const [people, toCall] = await Promise.all([
        watch.people.list(),
        permissions.includes('handle-alerts') ? whoToCall(watch, now()) : new Set<AccountId>(),
      ]);
      return {
        people: people.map((one) =>
          personJson(
            one,
            whole || one.id === account.id,
            one.role === 'coordinator' || toCall.has(one.id)
              ? permissions.includes('handle-alerts')
              : false,
          ),
        ),
      };
    },
  );

  app.patch(
    '/api/v1/people/:id',
    {
      config: { allow: 'arrange-people', by: 'session' },
      schema: {
        operationId: 'changePerson',
        tags: ['people'],
        summary: 'Change name, telephone, time zone, role or groups of somebody',
        params: IdParamsSchema,
        body: component(PersonChangeSchema),
        response: { 200: component(PersonSchema) },
      },
    },
    async (request) => {
      const { account } = principalOf(request);
      const before = await findPerson(watch, request.params.id);
      const { role, timeZone } = request.body;
      requireBelow(account.role, before.role);
      if (role !== undefined) requireBelow(account.role, role);
      if (timeZone !== undefined) requireZone(timeZone);
      if (role !== undefined && role !== before.role && before.id === account.id)
        throw new ApiProblem('person-refused', 'Nobody changes their own role: ask another.');
      const after = await watch.people.change(before.id, request.body);
      if (after === undefined) throw unknownPerson();
      await watch.audit.add({
        atMs: now(),
        kind: role === undefined || role === before.role ? 'person' : 'role',
        by: account.name,
        ip: request.ip,
        subject: after.name,
        before: { role: before.role, groups: before.groups },
        after: { role: after.role, groups: after.groups },
      });
      return personJson(after, true);
    },
  );

  app.delete(
    '/api/v1/people/:id',
    {
      config: { allow: 'arrange-people', by: 'session' },
      schema: {
        operationId: 'endPerson',
        tags: ['people'],
        summary: 'End an account',
        description: 'Sessions, tokens, shifts and channels of that person end with it.',
        params: IdParamsSchema,
        response: { 204: Type.Null({ description: 'It is over.' }) },
      },
    },
    async (request, reply) => {
      const { account } = principalOf(request);
      const person = await findPerson(watch, request.params.id);
      requireBelow(account.role, person.role);
      if (person.id === account.id)
        throw new ApiProblem('person-refused', 'Nobody ends their own account: ask another.');
      if (!(await watch.people.end(person.id, now()))) throw unknownPerson();
      onSessionEnd?.(person);
      await watch.audit.add({
        atMs: now(),
        kind: 'account-ended',
        by: account.name,
        ip: request.ip,
        subject: person.name,
      });
      return reply.code(204).send(null);
    },
  );
}

/** Who is on call now or within a week. */
async function whoToCall(watch: WatchPorts, nowMs: number): Promise<ReadonlySet<AccountId>> {
  const [shifts, groups] = await Promise.all([watch.rota.shifts(), watch.siteGroups.list()]);
  const range = { fromMs: nowMs, toMs: nowMs + CALLED_WITHIN_MS };
  return new Set(watch.rotaBetween(shifts, groups, range).duties.map(({ personId }) => personId));
}

function groupRoutes(
  app: Door,
  { watch, now }: { readonly watch: WatchPorts; readonly now: ApiDeps['now'] },
): void {
  const taken = new ApiProblem(
    'site-group-refused',
    'Another group has this name, or one of the sites does not exist.',
  );
  app.get(
    '/api/v1/site-groups',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'siteGroups',
        tags: ['people'],
        summary: 'Groups of sites',
        response: { 200: component(SiteGroupListSchema) },
      },
    },
    async () => ({ groups: (await watch.siteGroups.list()).map(groupJson) }),
  );
  app.post(
    '/api/v1/site-groups',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'addSiteGroup',
        tags: ['people'],
        summary: 'Put sites together',
        body: component(NewSiteGroupSchema),
        response: { 201: component(SiteGroupSchema) },
      },
    },
    async (request, reply) => {
      const { name, siteIds } = request.body;
      const made = await refuseConflict(
        () => watch.siteGroups.create(name, siteIds as SiteId[]),
        taken,
      );
      await writeDown({ watch, now }, request, {
        kind: 'group',
        subject: name,
        after: { siteIds },
      });
      reply.code(201);
      return groupJson(made);
    },
  );
  app.put(
    '/api/v1/site-groups/:id',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'changeSiteGroup',
        tags: ['people'],
        summary: 'Change the name and the sites of a group',
        params: IdParamsSchema,
        body: component(NewSiteGroupSchema),
        response: { 200: component(SiteGroupSchema) },
      },
    },
    async (request) => {
      const { name, siteIds } = request.body;
      const before = (await watch.siteGroups.list()).find(({ id }) => id === request.params.id);
      const changed = await refuseConflict(
        () => watch.siteGroups.change(request.params.id, name, siteIds as SiteId[]),
        taken,
      );
      if (changed === undefined) throw unknownGroup();
      await writeDown({ watch, now }, request, {
        kind: 'group',
        subject: name,
        before: { name: before?.name, siteIds: before?.siteIds },
        after: { name, siteIds },
      });
      return groupJson(changed);
    },
  );
  app.delete(
    '/api/v1/site-groups/:id',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'endSiteGroup',
        tags: ['people'],
        summary: 'End a group, and the shifts for it',
        params: IdParamsSchema,
        response: { 204: Type.Null({ description: 'It is over.' }) },
      },
    },
    async (request, reply) => {
      const before = (await watch.siteGroups.list()).find(({ id }) => id === request.params.id);
      if (!(await watch.siteGroups.remove(request.params.id))) throw unknownGroup();
      await writeDown({ watch, now }, request, {
        kind: 'group',
        subject: before?.name ?? request.params.id,
        before: { siteIds: before?.siteIds },
      });
      return reply.code(204).send(null);
    },
  );
}

function auditRoutes(app: Door, watch: WatchPorts): void {
  app.get(
    '/api/v1/audit',
    {
      config: { allow: 'administer' },
      schema: {
        operationId: 'audit',
        tags: ['people'],
        summary: 'Who did what to the house',
        description: 'Sign-ins and refusals, roles, credentials, rules, rota; the latest first.',
        response: { 200: component(AuditListSchema) },
      },
    },
    async () => ({
      entries: (await watch.audit.list(500)).map((entry) => ({
        at: instant(entry.atMs),
        kind: entry.kind,
        by: entry.by ?? null,
        ip: entry.ip ?? null,
        subject: entry.subject,
        before: entry.before ?? null,
        after: entry.after ?? null,
      })),
    }),
  );
}

const groupJson = ({
  id,
  name,
  siteIds,
}: {
  id: string;
  name: string;
  siteIds: readonly string[];
}) => ({
  id,
  name,
  siteIds: [...siteIds],
});

/** @throws ApiProblem `person-unknown` */
export async function findPerson(watch: WatchPorts, id: string): Promise<Person> {
  const person = await watch.people.find(accountId(id));
  if (person === undefined || person.endedAtMs !== undefined) throw unknownPerson();
  return person;
}

/** Nobody gives or takes more than they have. @throws ApiProblem `person-refused` */
export function requireBelow(own: Role, other: Role): void {
  if (roles.indexOf(other) > roles.indexOf(own))
    throw new ApiProblem('person-refused', `A ${own} does not arrange the account of a ${other}.`);
}

/** @throws ApiProblem `range-invalid` */
export function requireZone(timeZone: string): void {
  try {
    new Intl.DateTimeFormat('en', { timeZone });
  } catch {
    throw rangeProblem('/timeZone', 'is no time zone');
  }
}

const unknownPerson = (): ApiProblem =>
  new ApiProblem('person-unknown', 'There is no such person. GET /api/v1/people lists them.');
const unknownGroup = (): ApiProblem =>
  new ApiProblem(
    'site-group-unknown',
    'There is no such group. GET /api/v1/site-groups lists them.',
  );
