import { NewSiteSchema, SiteListSchema, SitePageSchema, SiteSchema } from '@duskline/contract';
import type { NewSiteJson } from '@duskline/contract';
import { DAY_MS, parseSiteId, type Site, type SiteId, type SiteView } from '@duskline/domain';
import { principalOf } from '../access/guard-routes.ts';
import type { Principal } from '../access/principal.ts';
import { seesPlace, withoutPlace } from '../access/seen-place.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import type { FleetReader } from '../fleet-reader.ts';
import { siteJson } from '../json/site-json.ts';
import { sitePageJson } from '../json/site-page-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';
import { refuseConflict } from './refuse-conflict.ts';

const DAYS_SHOWN = 30;
const INTERVALS_SHOWN_MS = 60 * DAY_MS;

export function siteRoutes(app: Door, deps: ApiDeps, reader: FleetReader): void {
  const { views, intervals, latest, sites, now } = deps;

  app.get(
    '/api/v1/sites',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'sites',
        tags: ['fleet'],
        summary: 'All sites with state, charge, outlook and alerts',
        response: { 200: component(SiteListSchema) },
      },
    },
    async (request) => {
      const asking = principalOf(request);
      const all = await views.fleet();
      const seen = all.filter(({ site }) => seesSite(asking.account, site.id));
      return { sites: seen.map((view) => siteJson(shownTo(asking, view))) };
    },
  );

  app.get(
    '/api/v1/sites/:siteId',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'site',
        tags: ['fleet'],
        summary: 'The page of one site, all but its readings',
        params: SiteParamsSchema,
        response: { 200: component(SitePageSchema) },
      },
    },
    async (request) => {
      const view = shownTo(principalOf(request), await findSite(views, request.params.siteId));
      const nowMs = now();
      const nodeId = view.node?.id;
      const [row, days, past, newest] = await Promise.all([
        reader.pageRow(view, nowMs),
        views.days(view.site.id, nowMs - DAYS_SHOWN * DAY_MS, nowMs),
        nodeId === undefined ? [] : intervals.list(nodeId, nowMs - INTERVALS_SHOWN_MS, nowMs),
        nodeId === undefined ? [] : latest.of(nodeId),
      ]);
      return sitePageJson(view, { row, days, intervals: past, latest: newest });
    },
  );

  app.post(
    '/api/v1/sites',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'createSite',
        tags: ['setup'],
        summary: 'Add a site',
        body: component(NewSiteSchema),
        response: { 201: component(SiteSchema) },
      },
    },
    async (request, reply) => {
      const site = siteFrom(request.body);
      if ((await sites.find(site.id)) !== undefined) throw siteTaken(site.id);
      await refuseConflict(() => sites.create(site), siteTaken(site.id));
      const view = (await views.site(site.id)) ?? { site, version: 0, alerts: [] };
      reply.code(201).header('location', `/api/v1/sites/${site.id}`);
      return siteJson(view);
    },
  );
}

/** The site as this caller may see it. */
const shownTo = (asking: Principal, view: SiteView): SiteView =>
  seesPlace(asking) ? view : withoutPlace(view);

function siteFrom(body: NewSiteJson): Site {
  const id = parseSiteId(body.id);
  if (id === undefined) throw new Error('siteFrom: the schema lets no such id through');
  if (!isTimeZone(body.timeZone))
    throw new ApiProblem(
      'time-zone-unknown',
      'Give the time zone by its IANA name, such as Europe/London.',
      { errors: [{ pointer: '/timeZone', detail: 'is not the IANA name of a time zone' }] },
    );
  const { name, latitudeDeg, longitudeDeg, elevationM, timeZone, access, hazards } = body;
  return {
    id,
    name,
    position: { latitudeDeg, longitudeDeg, elevationM },
    timeZone,
    access: access ?? '',
    hazards: hazards ?? '',
    ...(body.clearnessByMonth === undefined ? {} : { clearnessByMonth: body.clearnessByMonth }),
  };
}

const siteTaken = (id: SiteId): ApiProblem =>
  new ApiProblem('site-taken', `There is a site with the id ${id} already: choose another id.`, {
    errors: [{ pointer: '/id', detail: 'is taken' }],
  });

/** Offsets such as +01:00 are understood by some engines and are no place. */
function isTimeZone(name: string): boolean {
  if (!/^[A-Za-z]/.test(name)) return false;
  try {
    return new Intl.DateTimeFormat('en', { timeZone: name }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
}
