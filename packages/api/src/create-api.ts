import fastify, { type FastifyInstance, type FastifyServerOptions } from 'fastify';
import { randomBytes } from 'node:crypto';
import type { TypeBoxTypeProvider } from '@fastify/type-provider-typebox';
import { createAuthenticator } from './access/authenticator.ts';
import { guardRoutes } from './access/guard-routes.ts';
import { sessionCookie } from './access/session-cookie.ts';
import type { ApiDeps } from './api-deps.ts';
import { coerceQuery } from './coerce-query.ts';
import { createFleetReader } from './fleet-reader.ts';
import { lateChecks } from './late-checks.ts';
import { describeApi } from './openapi/describe-api.ts';
import { answerErrors, answerUnroutable } from './replies/answer-errors.ts';
import { tagAnswers } from './replies/entity-tag.ts';
import { pageLists } from './replies/page-lists.ts';
import { alertLinkRoutes } from './routes/alert-link-routes.ts';
import { alertRoutes } from './routes/alert-routes.ts';
import { alertStepRoutes } from './routes/alert-step-routes.ts';
import { calendarRoutes } from './routes/calendar-routes.ts';
import { cardRoutes } from './routes/card-routes.ts';
import { exportRoutes } from './routes/export-routes.ts';
import { documentRoutes } from './routes/document-routes.ts';
import { fleetRoutes } from './routes/fleet-routes.ts';
import { healthRoutes } from './routes/health-routes.ts';
import { invitationRoutes } from './routes/invitation-routes.ts';
import { landOwnerRoutes } from './routes/land-owner-routes.ts';
import { mapRoutes } from './routes/map-routes.ts';
import { meRoutes } from './routes/me-routes.ts';
import { metricsRoutes } from './routes/metrics-routes.ts';
import { nodeRoutes } from './routes/node-routes.ts';
import { outlookRoutes } from './routes/outlook-routes.ts';
import { outsideForecastRoutes } from './routes/outside-forecast-routes.ts';
import { partRoutes } from './routes/part-routes.ts';
import { photoRoutes } from './routes/photo-routes.ts';
import { peopleRoutes } from './routes/people-routes.ts';
import { qualityRoutes } from './routes/quality-routes.ts';
import { quarantineRoutes } from './routes/quarantine-routes.ts';
import { readingsRoutes } from './routes/readings-routes.ts';
import { rotaRoutes } from './routes/rota-routes.ts';
import { roundRoutes } from './routes/round-routes.ts';
import { scoreRoutes } from './routes/score-routes.ts';
import { securityContactRoutes } from './routes/security-contact-routes.ts';
import { sessionRoutes } from './routes/session-routes.ts';
import { settingsRoutes } from './routes/settings-routes.ts';
import { siteStoryRoutes } from './routes/site-story-routes.ts';
import { siteRoutes } from './routes/site-routes.ts';
import { sizingRoutes } from './routes/sizing-routes.ts';
import { staRoutes } from './routes/sta-routes.ts';
import { tokenRoutes } from './routes/token-routes.ts';
import { visitRoutes } from './routes/visit-routes.ts';
import { watchSettingsRoutes } from './routes/watch-settings-routes.ts';
import { compressAnswers } from './web/compress-answers.ts';
import { securityHeaders } from './web/security-headers.ts';
import { answerUnknown, serveWeb } from './web/serve-web.ts';

/** The largest body is a site with its notes. */
const BODY_LIMIT_BYTES = 64 * 1024;
const REQUEST_TIMEOUT_MS = 30_000;
const CONNECTION_TIMEOUT_MS = 60_000;

/** The whole HTTP door, ready to be listened with or injected into. It opens no port and starts no clock. */
export async function createApi(deps: ApiDeps): Promise<FastifyInstance> {
  const { door, version = '0.1.0' } = deps;
  const app = fastify(serverOptions(deps)).withTypeProvider<TypeBoxTypeProvider>();
  const cookie = sessionCookie(door);
  const reader = createFleetReader(deps);

  // Shapes go out through mapping functions that build them key by key, checked against the document in the tests:
  // writing them by schema again would take ten times as long for a fleet of a thousand.
  app.setSerializerCompiler(() => (answer) => JSON.stringify(answer));
  app.removeContentTypeParser('text/plain');

  answerErrors(app, deps);
  answerUnknown(app);
  await securityHeaders(app, door);
  await compressAnswers(app);
  pageLists(app);
  await describeApi(app, { version, cookieName: cookie.name });
  guardRoutes(app, {
    authenticate: createAuthenticator(deps.accounts, cookie),
    secure: door.secure,
    origins: door.origins ?? [],
    siteOfNode: async (name) =>
      (await deps.nodes.findByName(name as Parameters<typeof deps.nodes.findByName>[0]))?.siteId,
  });
  coerceQuery(app);
  tagAnswers(app);

  healthRoutes(app, deps);
  metricsRoutes(app, deps);
  securityContactRoutes(app, deps);
  documentRoutes(app);
  await sessionRoutes(app, deps, cookie);
  tokenRoutes(app, deps);
  fleetRoutes(app, deps, reader);
  siteRoutes(app, deps, reader);
  landOwnerRoutes(app, deps);
  readingsRoutes(app, deps);
  qualityRoutes(app, deps);
  alertRoutes(app, deps);
  alertStepRoutes(app, deps);
  alertLinkRoutes(app, deps);
  peopleRoutes(app, deps);
  invitationRoutes(app, deps);
  meRoutes(app, deps);
  rotaRoutes(app, deps);
  watchSettingsRoutes(app, deps);
  roundRoutes(app, deps);
  visitRoutes(app, deps);
  calendarRoutes(app, deps);
  nodeRoutes(app, deps);
  quarantineRoutes(app, deps);
  sizingRoutes(app, deps);
  await cardRoutes(app, deps);
  partRoutes(app, deps);
  await photoRoutes(app, deps);
  outlookRoutes(app, deps);
  settingsRoutes(app, deps);
  siteStoryRoutes(app, deps);
  await outsideForecastRoutes(app, deps);
  scoreRoutes(app, deps);
  mapRoutes(app, deps);
  staRoutes(app, deps);
  exportRoutes(app, deps);
  if (door.webRoot !== undefined) await serveWeb(app, door.webRoot, door.tiles?.url);

  await app.ready();
  return app;
}

function serverOptions({ door, logger }: ApiDeps): FastifyServerOptions {
  return {
    ...(logger === undefined ? {} : { loggerInstance: logger }),
    ...(door.trustProxy === undefined ? {} : { trustProxy: door.trustProxy }),
    bodyLimit: BODY_LIMIT_BYTES,
    requestTimeout: REQUEST_TIMEOUT_MS,
    connectionTimeout: CONNECTION_TIMEOUT_MS,
    frameworkErrors: answerUnroutable,
    genReqId: () => randomBytes(6).toString('hex'),
    schemaController: { compilersFactory: { buildValidator: lateChecks() } },
    ajv: { customOptions: { coerceTypes: false, removeAdditional: false, useDefaults: false } },
  };
}
