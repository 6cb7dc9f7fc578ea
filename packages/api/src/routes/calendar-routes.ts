import { CalendarAddressSchema, CalendarFeedSchema } from '@duskline/contract';
import {
  DAY_MS,
  roleAllows,
  type Person,
  type Site,
  type SiteGroup,
  type SiteId,
} from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { hashSecretText, newSecretText } from '../access/secret-text.ts';
import { blurred } from '../access/seen-place.ts';
import type { ApiDeps } from '../api-deps.ts';
import { writeCalendar } from '../calendar/write-calendar.ts';
import type { Door } from '../door.ts';
import { instant, instantOrNull } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { RoundsPort } from '../rounds-port.ts';
import type { WatchPorts } from '../watch-port.ts';

const BACK_MS = 60 * DAY_MS;
const AHEAD_MS = 180 * DAY_MS;

const FeedParamsSchema = Type.Object({
  file: Type.String({
    minLength: 20,
    maxLength: 80,
    pattern: '^[A-Za-z0-9_-]+\\.ics$',
    description: 'The secret address, with the ending .ics.',
  }),
});
const FeedQuerySchema = Type.Object({
  of: Type.Optional(
    Type.Enum(['me', 'all'], {
      description: 'Own visits and duties (default), or those of everybody.',
    }),
  ),
});

/** A calendar of visits and of the rota to subscribe to. Programs that show calendars cannot sign in: its address is a secret. */
export function calendarRoutes(app: Door, deps: ApiDeps): void {
  const { trips, watch } = deps;
  if (trips === undefined || watch === undefined) return;
  ownCalendar(app, trips, deps.now);
  calendarFeed(app, deps, { trips, watch });
}

function ownCalendar(app: Door, { calendarFeeds }: RoundsPort, now: () => number): void {
  app.get(
    '/api/v1/me/calendar',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'myCalendar',
        tags: ['visits'],
        summary: 'Is there an address of my calendar, and since when?',
        response: { 200: component(CalendarFeedSchema) },
      },
    },
    async (request) => {
      const feed = await calendarFeeds.of(principalOf(request).account.id);
      return { madeAt: instantOrNull(feed?.madeAtMs) };
    },
  );

  app.post(
    '/api/v1/me/calendar',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'renewMyCalendar',
        tags: ['visits'],
        summary: 'A new address of my calendar; the one before is over',
        response: { 201: component(CalendarAddressSchema) },
      },
    },
    async (request, reply) => {
      const secret = newSecretText();
      const feed = await calendarFeeds.renew(
        principalOf(request).account.id,
        hashSecretText(secret),
        now(),
      );
      reply.code(201).header('cache-control', 'no-store');
      return { madeAt: instant(feed.madeAtMs), path: `/api/v1/calendars/${secret}.ics` };
    },
  );

  app.delete(
    '/api/v1/me/calendar',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'endMyCalendar',
        tags: ['visits'],
        summary: 'End the address of my calendar',
        response: { 204: Type.Null({ description: 'It is over, if there was one.' }) },
      },
    },
    async (request, reply) => {
      await calendarFeeds.end(principalOf(request).account.id);
      return reply.code(204).send(null);
    },
  );
}

function calendarFeed(
  app: Door,
  { sites, now, door }: ApiDeps,
  { trips, watch }: { readonly trips: RoundsPort; readonly watch: WatchPorts },
): void {
  app.get(
    '/api/v1/calendars/:file',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'calendar',
        tags: ['visits'],
        summary: 'Visits and rota as iCalendar (RFC 5545), from 60 days ago to 180 days ahead',
        params: FeedParamsSchema,
        querystring: FeedQuerySchema,
        response: {
          200: {
            description: 'The calendar.',
            content: { 'text/calendar': { schema: { type: 'string' } } },
          },
        },
      },
    },
    async (request, reply) => {
      const secret = request.params.file.replace(/\.ics$/, '');
      const feed = await trips.calendarFeeds.find(hashSecretText(secret));
      const owner = feed === undefined ? undefined : await watch.people.find(feed.accountId);
      if (owner === undefined || owner.endedAtMs !== undefined) throw over();
      const onlyOwn = request.query.of !== 'all';
      const range = { fromMs: now() - BACK_MS, toMs: now() + AHEAD_MS };
      const [visits, shifts, groups, people, places] = await Promise.all([
        trips.visits.list(range),
        watch.rota.shifts(),
        watch.siteGroups.list(),
        watch.people.list(),
        sites.list(),
      ]);
      const sees = seenBy(owner, groups);
      const isWanted = (id: string): boolean => !onlyOwn || id === owner.id;
      const text = writeCalendar({
        person: owner.name,
        visits: visits.filter((one) => isWanted(one.personId) && sees(one.siteId)),
        duties: watch
          .rotaBetween(shifts, groups, range)
          .duties.filter((duty) => isWanted(duty.personId))
          .map((duty) => ({ ...duty, person: nameOf(people, duty.personId) })),
        siteOf: new Map(places.map((site) => [site.id, goes(owner) ? site : withoutWay(site)])),
        ...(door.origins?.[0] === undefined ? {} : { origin: door.origins[0] }),
      });
      reply.headers({
        'content-type': 'text/calendar; charset=utf-8',
        'cache-control': 'private, no-cache',
      });
      return reply.send(text);
    },
  );
}

/** A volunteer who belongs to groups of sites sees those only, also in a calendar. */
function seenBy({ role, groups: own }: Person, groups: readonly SiteGroup[]) {
  if (role !== 'volunteer' || own.length === 0) return () => true;
  const seen = groups.filter(({ id }) => own.includes(id)).flatMap(({ siteIds }) => siteIds);
  return (siteId: SiteId): boolean => seen.includes(siteId);
}

/** Who goes to sites has the way to them in the calendar. */
const goes = ({ role }: Person): boolean =>
  roleAllows(role, 'handle-alerts') || roleAllows(role, 'change-nodes');
const withoutWay = (site: Site): Site => ({
  ...site,
  position: blurred(site.position),
  access: '',
});

const nameOf = (people: readonly Person[], id: string): string =>
  people.find((one) => one.id === id)?.name ?? '';

const over = (): ApiProblem =>
  new ApiProblem(
    'calendar-unknown',
    'There is no calendar at this address, or it was renewed: make a new address on the page Rounds.',
  );
