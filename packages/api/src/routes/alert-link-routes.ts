import { AlertLinkSchema } from '@duskline/contract';
import Type from 'typebox';
import { hashSecretText } from '../access/secret-text.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { alertInItsCause } from '../json/alert-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';

const LinkParamsSchema = Type.Object({
  token: Type.String({
    minLength: 16,
    maxLength: 64,
    pattern: '^[A-Za-z0-9_-]+$',
    description: 'What follows /a/ in the message.',
  }),
});

/**
 * The link in a message. Asking shows the alert and changes nothing, so that programs which look through mail may ask;
 * only posting takes it, once.
 */
export function alertLinkRoutes(app: Door, deps: ApiDeps): void {
  const { watch, sites, now } = deps;
  if (watch === undefined) return;
  const { alerts, people } = watch;

  async function shown(owner: Awaited<ReturnType<WatchPorts['outbox']['findLink']>>) {
    if (owner === undefined) throw over();
    const [alert, person] = await Promise.all([
      alerts.find(owner.alertId),
      people.find(owner.personId),
    ]);
    if (alert === undefined || person === undefined) throw over();
    const [site, open] = await Promise.all([sites.find(alert.siteId), alerts.open(alert.nodeId)]);
    return { alert, person, siteName: site?.name ?? '', open };
  }

  app.get(
    '/api/v1/alert-links/:token',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'alertLink',
        tags: ['alerts'],
        summary: 'What a link in a message is about',
        params: LinkParamsSchema,
        response: { 200: component(AlertLinkSchema) },
      },
    },
    async (request, reply) => {
      const found = await shown(
        await watch.outbox.findLink(hashSecretText(request.params.token), now()),
      );
      reply.header('cache-control', 'no-store');
      return {
        alert: alertInItsCause(found.alert, found.siteName, found.open),
        person: found.person.name,
      };
    },
  );

  app.post(
    '/api/v1/alert-links/:token',
    {
      config: { allow: 'anyone' },
      schema: {
        operationId: 'takeByLink',
        tags: ['alerts'],
        summary: 'Take the alert of a link, once',
        params: LinkParamsSchema,
        response: { 200: component(AlertLinkSchema) },
      },
    },
    async (request, reply) => {
      const found = await shown(
        await watch.outbox.useLink(hashSecretText(request.params.token), now()),
      );
      const outcome = await watch.alerts.step(
        found.alert.id,
        { kind: 'take' },
        found.person,
        now(),
      );
      if (outcome.kind === 'no-such-alert') throw over();
      if (outcome.kind === 'not-now') throw new ApiProblem('alert-step-refused', outcome.why);
      await deps.onAlert?.(outcome.alert);
      reply.header('cache-control', 'no-store');
      return {
        alert: alertInItsCause(outcome.alert, found.siteName, found.open),
        person: found.person.name,
      };
    },
  );
}

const over = (): ApiProblem =>
  new ApiProblem(
    'link-over',
    'This link was used, or is older than a day. Sign in to see the alert.',
  );
