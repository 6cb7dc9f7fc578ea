import {
  AlertPageSchema,
  AlertSchema,
  AlertStepSchema,
  MessageListSchema,
} from '@duskline/contract';
import type { AlertStepJson } from '@duskline/contract';
import {
  accountId,
  alertId,
  DAY_MS,
  isAboutFleet,
  LONGEST_PAUSE_DAYS,
  type Account,
  type Alert,
  type AlertStep,
} from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import { seesSite } from '../access/seen-sites.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { alertInItsCause, pausedJson } from '../json/alert-json.ts';
import { instant, instantOrNull } from '../json/instant.ts';
import { messageJson } from '../json/message-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';
import { bodyInstant, rangeProblem } from './body-instant.ts';

const AlertParamsSchema = Type.Object({
  id: Type.String({ description: 'Id of the alert.', examples: ['12-7'] }),
});

/** What a person does to an alert, and its whole story. */
export function alertStepRoutes(app: Door, deps: ApiDeps): void {
  const { watch, sites, now } = deps;
  if (watch === undefined) return;
  const named = async (alert: Alert) => {
    const [site, open] = await Promise.all([
      isAboutFleet(alert) ? undefined : sites.find(alert.siteId),
      watch.alerts.open(alert.nodeId),
    ]);
    const name = isAboutFleet(alert) ? '' : (site?.name ?? alert.siteId);
    return alertInItsCause(alert, name, open);
  };
  const find = async (id: string, account: Account): Promise<Alert> => {
    const alert = await watch.alerts.find(alertId(id));
    if (alert === undefined || !seesAlert(account, alert)) throw unknown();
    return alert;
  };

  app.post(
    '/api/v1/alerts/:id/steps',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'stepAlert',
        tags: ['alerts'],
        summary: 'Take, hand over, pause, resume, note, seen',
        description:
          'Answers with the alert as it is after the step; a step that its state does not allow is refused (409).',
        params: AlertParamsSchema,
        body: component(AlertStepSchema),
        response: { 200: component(AlertSchema) },
      },
    },
    async (request) => {
      const { account } = principalOf(request);
      const alert = await find(request.params.id, account);
      const step = await stepFrom(request.body, { watch, nowMs: now() });
      const outcome = await watch.alerts.step(alert.id, step, account, now());
      if (outcome.kind === 'no-such-alert') throw unknown();
      if (outcome.kind === 'not-now') throw new ApiProblem('alert-step-refused', outcome.why);
      await deps.onAlert?.(outcome.alert);
      return named(outcome.alert);
    },
  );

  app.get(
    '/api/v1/alerts/:id',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'alert',
        tags: ['alerts'],
        summary: 'One alert with its story and its messages',
        params: AlertParamsSchema,
        response: { 200: component(AlertPageSchema) },
      },
    },
    async (request) => {
      const alert = await find(request.params.id, principalOf(request).account);
      const [history, messages, people] = await Promise.all([
        watch.alerts.history(alert.id),
        watch.outbox.list({ alertId: alert.id, limit: 100 }),
        watch.people.list(),
      ]);
      return {
        alert: await named(alert),
        takenUntil: instantOrNull(alert.takenUntilMs),
        paused: pausedJson(alert.paused),
        handedTo: alert.handedTo ?? null,
        joins: alert.joins ?? null,
        history: history.map(({ atMs, by, kind, state, priority, why }) => ({
          at: instant(atMs),
          kind,
          state,
          priority,
          by: by ?? null,
          why,
        })),
        messages: messages.map((message) => messageJson(message, people)),
      };
    },
  );

  app.get(
    '/api/v1/messages',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'messages',
        tags: ['alerts'],
        summary: 'The latest messages, and how the ways out are doing',
        response: { 200: component(MessageListSchema) },
      },
    },
    async (request) => {
      const { account, permissions } = principalOf(request);
      const all = permissions.includes('arrange-people');
      const [messages, channels, people] = await Promise.all([
        watch.outbox.list({ limit: 200, ...(all ? {} : { personId: account.id }) }),
        watch.outbox.channels(),
        watch.people.list(),
      ]);
      return {
        messages: messages.map((message) => messageJson(message, people)),
        channels: channels.map((one) => ({
          name: one.breaker,
          failures: one.failures,
          shutUntil: instantOrNull(one.openUntilMs),
          error: one.error ?? null,
          failedAt: instantOrNull(one.failedAtMs),
          sentAt: instantOrNull(one.sentAtMs),
        })),
        setUp: [...watch.waysOut],
      };
    },
  );
}

/** Alerts of the fleet are everybody's. */
export const seesAlert = (account: Account, alert: Alert): boolean =>
  isAboutFleet(alert) || seesSite(account, alert.siteId);

async function stepFrom(
  body: AlertStepJson,
  { watch, nowMs }: { readonly watch: WatchPorts; readonly nowMs: number },
): Promise<AlertStep> {
  switch (body.kind) {
    case 'take':
      return body.until === undefined
        ? { kind: 'take' }
        : { kind: 'take', untilMs: ahead(body.until, nowMs) };
    case 'hand-over': {
      const person = await watch.people.find(accountId(body.to));
      if (person === undefined || person.endedAtMs !== undefined)
        throw new ApiProblem('person-unknown', 'There is nobody of this id to hand it to.');
      return {
        kind: 'hand-over',
        to: { id: person.id, name: person.name },
        ...(body.note === undefined ? {} : { note: body.note }),
      };
    }
    case 'pause':
      return { kind: 'pause', untilMs: ahead(body.until, nowMs), why: body.why };
    default:
      return body;
  }
}

function ahead(text: string, nowMs: number): number {
  const atMs = bodyInstant(text, '/until');
  if (atMs <= nowMs) throw rangeProblem('/until', 'lies in the past');
  if (atMs > nowMs + LONGEST_PAUSE_DAYS * DAY_MS)
    throw rangeProblem('/until', `is more than ${LONGEST_PAUSE_DAYS} days ahead`);
  return atMs;
}

const unknown = (): ApiProblem =>
  new ApiProblem(
    'alert-unknown',
    'There is no alert of this id. GET /api/v1/alerts lists those that are open.',
  );
