import {
  AcceptedGapListSchema,
  AcceptedGapSchema,
  AlertHealthSchema,
  NewAcceptedGapSchema,
  RuleListSchema,
  RuleSettingSchema,
  SiteMarksSchema,
} from '@duskline/contract';
import type { RuleSettingJson } from '@duskline/contract';
import { DAY_MS, type AcceptedGap } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';
import { bodyInstant, rangeProblem } from './body-instant.ts';
import { findSite, nodeOf, SiteParamsSchema } from './find-site.ts';
import { writeDown } from './write-down.ts';

const LONGEST_GAP_MS = 366 * DAY_MS;
type Entry = Awaited<ReturnType<WatchPorts['ruleSettings']['history']>>[number];
type Watched = ApiDeps & { readonly watch: WatchPorts };

/** What is accepted, what the rules go by, what a site is marked as, and how healthy the alerts are. */
export function watchSettingsRoutes(app: Door, deps: ApiDeps): void {
  const { watch } = deps;
  if (watch === undefined) return;
  gapRoutes(app, { ...deps, watch });
  ruleRoutes(app, { ...deps, watch });
  markRoutes(app, { ...deps, watch });

  app.get(
    '/api/v1/alert-health',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'alertHealth',
        tags: ['alerts'],
        summary:
          'How healthy the alerts are: rates, chatter, staleness, time to take, against targets',
        querystring: Type.Object({
          days: Type.Optional(Type.Integer({ minimum: 1, maximum: 366, default: 90 })),
        }),
        response: { 200: component(AlertHealthSchema) },
      },
    },
    (request) => watch.alertHealth(deps.now(), request.query.days ?? 90),
  );
}

function gapRoutes(app: Door, { watch, views, now }: Watched): void {
  app.get(
    '/api/v1/accepted-gaps',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'acceptedGaps',
        tags: ['alerts'],
        summary: 'Times in which somebody accepts that a site is dark',
        response: { 200: component(AcceptedGapListSchema) },
      },
    },
    async (request) => {
      const { account } = principalOf(request);
      const gaps = await watch.acceptedGaps.list(now());
      return { gaps: gaps.filter(({ siteId }) => seesSite(account, siteId)).map(gapJson) };
    },
  );
  app.post(
    '/api/v1/accepted-gaps',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'acceptGap',
        tags: ['alerts'],
        summary: 'Accept that a site is dark for a time',
        body: component(NewAcceptedGapSchema),
        response: { 201: component(AcceptedGapSchema) },
      },
    },
    async (request, reply) => {
      const { siteId, from, until, reason } = request.body;
      const { site } = await findSite(views, siteId);
      const fromMs = bodyInstant(from, '/from');
      const untilMs = bodyInstant(until, '/until');
      if (untilMs <= Math.max(fromMs, now())) throw rangeProblem('/until', 'is over already');
      if (untilMs - fromMs > LONGEST_GAP_MS) throw rangeProblem('/until', 'is more than a year on');
      const { account } = principalOf(request);
      const made = await watch.acceptedGaps.accept({
        siteId: site.id,
        fromMs,
        untilMs,
        by: account.name,
        reason,
      });
      await writeDown({ watch, now }, request, {
        kind: 'accepted-gap',
        subject: site.id,
        after: { from, until, reason },
      });
      reply.code(201);
      return gapJson(made);
    },
  );
  app.delete(
    '/api/v1/accepted-gaps/:id',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'endAcceptedGap',
        tags: ['alerts'],
        summary: 'It is not accepted any more',
        params: Type.Object({ id: Type.String({ description: 'Its id.' }) }),
        response: { 200: component(AcceptedGapSchema) },
      },
    },
    async (request) => {
      const ended = await watch.acceptedGaps.end(request.params.id, now());
      if (ended === undefined)
        throw new ApiProblem('gap-unknown', 'There is no such gap, or it has ended.');
      await writeDown({ watch, now }, request, {
        kind: 'accepted-gap',
        subject: ended.siteId,
        before: { until: instant(ended.untilMs), reason: ended.reason },
      });
      return gapJson(ended);
    },
  );
}

const gapJson = ({ id, siteId, fromMs, untilMs, by, reason }: AcceptedGap) => ({
  id,
  siteId,
  from: instant(fromMs),
  until: instant(untilMs),
  by,
  reason,
});

function ruleRoutes(app: Door, { watch, views, nodes, now }: Watched): void {
  app.get(
    '/api/v1/rules',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'rules',
        tags: ['alerts'],
        summary: 'Every rule with its settings, and what was changed',
        response: { 200: component(RuleListSchema) },
      },
    },
    async () => {
      const [inForce, changes, sites] = await Promise.all([
        watch.ruleSettings.inForce(),
        watch.ruleSettings.history(200),
        views.fleet(),
      ]);
      // Kept by number, so that a node may be given another name; asked for and shown by name.
      const names = new Map(
        sites.flatMap(({ node }) => (node === undefined ? [] : [[String(node.id), node.name]])),
      );
      const changed = ({ atMs, ...entry }: Entry) => ({
        ...entry,
        subject:
          entry.scope === 'node' ? (names.get(entry.subject) ?? entry.subject) : entry.subject,
        at: instant(atMs),
      });
      return {
        rules: watch.rules.map(({ settings, ...rule }) => ({
          key: rule.key,
          name: rule.name,
          why: rule.why,
          who: rule.who,
          aboutFleet: rule.aboutFleet,
          settings: Object.entries(settings).map(([key, setting]) => ({ key, ...setting })),
        })),
        inForce: inForce.map(changed),
        changes: changes.map(changed),
      };
    },
  );

  app.put(
    '/api/v1/rule-settings',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'setRule',
        tags: ['alerts'],
        summary: 'Change a setting of a rule, for the fleet, a site or a node',
        description:
          'A value of null takes the setting back. Every change is kept with who made it.',
        body: component(RuleSettingSchema),
        response: { 204: Type.Null({ description: 'It counts from the next look on.' }) },
      },
    },
    async (request, reply) => {
      const { scope, rule: key, setting, value } = request.body;
      const fault = faultOfSetting(watch, { key, setting, value });
      if (fault !== undefined) throw new ApiProblem('rule-setting-refused', fault);
      const subject = await subjectOf(request.body, { views, nodes });
      const { account } = principalOf(request);
      const entry = { scope, subject, rule: key, setting, value, by: account.name, atMs: now() };
      const before = (await watch.ruleSettings.inForce()).find(
        (one) =>
          one.scope === scope &&
          one.subject === subject &&
          one.rule === key &&
          one.setting === setting,
      );
      await watch.ruleSettings.set(entry);
      await watch.audit.add({
        atMs: now(),
        kind: 'rule',
        by: account.name,
        ip: request.ip,
        subject: `${key}.${setting} ${scope} ${subject}`.trim(),
        before: before?.value ?? null,
        after: value,
      });
      return reply.code(204).send(null);
    },
  );
}

function faultOfSetting(
  watch: WatchPorts,
  { key, setting, value }: { key: string; setting: string; value: number | null },
): string | undefined {
  const rule = watch.rules.find((one) => one.key === key);
  if (rule === undefined) return `There is no rule ${key}.`;
  const own = rule.settings[setting];
  if (own === undefined) return `The rule ${rule.name} has no setting ${setting}.`;
  const { low, high } = own;
  return value === null || (value >= low && value <= high)
    ? undefined
    : `${setting} goes from ${low} to ${high}.`;
}

async function subjectOf(
  { scope, subject = '' }: RuleSettingJson,
  { views, nodes }: Pick<ApiDeps, 'views' | 'nodes'>,
): Promise<string> {
  if (scope === 'fleet') return '';
  if (scope === 'site') return (await findSite(views, subject)).site.id;
  const node = await nodes.findByName(subject as Parameters<typeof nodes.findByName>[0]);
  if (node === undefined) throw new ApiProblem('node-unknown', 'There is no node of this name.');
  return String(node.id);
}

function markRoutes(app: Door, { watch, views, now }: Watched): void {
  app.patch(
    '/api/v1/sites/:siteId/marks',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'markSite',
        tags: ['setup'],
        summary: 'Mark a site: critical, its link, its data plan, off for work',
        description:
          'Off for work has an owner and an end; meanwhile only dangers to people raise alerts there.',
        params: SiteParamsSchema,
        body: component(SiteMarksSchema),
        response: { 204: Type.Null({ description: 'It counts from the next look on.' }) },
      },
    },
    async (request, reply) => {
      const view = await findSite(views, request.params.siteId);
      const { critical, link, dataPlan, offForWork } = request.body;
      if (link !== undefined || dataPlan !== undefined || offForWork !== undefined) nodeOf(view);
      await watch.marks.set(view.site.id, {
        ...(critical === undefined ? {} : { critical }),
        ...(link === undefined ? {} : { link }),
        ...(dataPlan === undefined ? {} : { dataPlan }),
        ...(offForWork === undefined
          ? {}
          : { offForWork: offForWork === null ? null : notice(offForWork, now()) }),
      });
      await watch.audit.add({
        atMs: now(),
        kind: 'site-marks',
        by: principalOf(request).account.name,
        ip: request.ip,
        subject: view.site.id,
        after: request.body,
      });
      return reply.code(204).send(null);
    },
  );
}

function notice(
  { owner, until, reason }: { owner: string; until: string; reason: string },
  nowMs: number,
) {
  const untilMs = bodyInstant(until, '/offForWork/until');
  if (untilMs <= nowMs) throw rangeProblem('/offForWork/until', 'lies in the past');
  if (untilMs > nowMs + LONGEST_GAP_MS) throw rangeProblem('/offForWork/until', 'is too far ahead');
  return { owner, fromMs: nowMs, untilMs, reason };
}
