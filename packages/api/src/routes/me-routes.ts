import {
  MadeChannelSchema,
  MeSchema,
  MyChangeSchema,
  NewChannelSchema,
  PersonSchema,
} from '@duskline/contract';
import { DAY_MS, type ChannelKind } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instantOrNull } from '../json/instant.ts';
import { minuteOf, personJson } from '../json/person-json.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';
import { findPerson, requireZone } from './people-routes.ts';
import { writeDown } from './write-down.ts';

const LOOK_AHEAD_MS = 60 * DAY_MS;
const MOST_CHANNELS = 10;
const ChannelParamsSchema = Type.Object({
  id: Type.String({ maxLength: 40, description: 'Id of the channel.' }),
});

/** Oneself: how one is reached, and when. */
export function meRoutes(app: Door, { watch, now }: ApiDeps): void {
  if (watch === undefined) return;
  const person = (request: Parameters<typeof principalOf>[0]) =>
    findPerson(watch, principalOf(request).account.id);

  app.get(
    '/api/v1/me',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'me',
        tags: ['people'],
        summary: 'How I am reached, and when I am on call',
        response: { 200: component(MeSchema) },
      },
    },
    async (request, reply) => {
      const me = await person(request);
      const nowMs = now();
      const [shifts, groups] = await Promise.all([watch.rota.shifts(), watch.siteGroups.list()]);
      const { duties } = watch.rotaBetween(shifts, groups, {
        fromMs: nowMs,
        toMs: nowMs + LOOK_AHEAD_MS,
      });
      const mine = duties.filter(({ personId }) => personId === me.id);
      const running = mine.filter(({ fromMs }) => fromMs <= nowMs);
      reply.header('cache-control', 'no-store');
      return {
        person: personJson(me, true),
        onCallUntil: instantOrNull(
          running.length === 0 ? undefined : Math.max(...running.map(({ untilMs }) => untilMs)),
        ),
        nextShiftAt: instantOrNull(mine.find(({ fromMs }) => fromMs > nowMs)?.fromMs),
        pushKey: watch.pushKey ?? null,
        waysOut: [...watch.waysOut],
      };
    },
  );

  app.patch(
    '/api/v1/me',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'changeMe',
        tags: ['people'],
        summary: 'Change my name, telephone, time zone or quiet hours',
        description: 'In quiet hours only what cannot wait (P1) is sent.',
        body: component(MyChangeSchema),
        response: { 200: component(PersonSchema) },
      },
    },
    async (request) => {
      const me = await person(request);
      const { quiet, timeZone, ...rest } = request.body;
      if (timeZone !== undefined) requireZone(timeZone);
      const after = await watch.people.change(me.id, {
        ...rest,
        ...(timeZone === undefined ? {} : { timeZone }),
        ...(quiet === undefined
          ? {}
          : { quiet: { fromMinute: minuteOf(quiet.from), untilMinute: minuteOf(quiet.until) } }),
      });
      await writeDown({ watch, now }, request, {
        kind: 'person',
        subject: me.name,
        before: { timeZone: me.timeZone, quiet: me.quiet },
        after: { timeZone: after?.timeZone, quiet: after?.quiet },
      });
      return personJson(after ?? me, true);
    },
  );
  channelRoutes(app, { watch, now, person });
}

function channelRoutes(
  app: Door,
  {
    watch,
    now,
    person,
  }: {
    readonly watch: WatchPorts;
    readonly now: () => number;
    readonly person: (request: Parameters<typeof principalOf>[0]) => ReturnType<typeof findPerson>;
  },
): void {
  app.post(
    '/api/v1/me/channels',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'addChannel',
        tags: ['people'],
        summary: 'One more way to reach me',
        description:
          'E-mail address, telephone number, https address of a webhook, or a push subscription of this browser.',
        body: component(NewChannelSchema),
        response: { 201: component(MadeChannelSchema) },
      },
    },
    async (request, reply) => {
      const me = await person(request);
      const { kind, address, keys } = request.body;
      if (!watch.waysOut.includes(kind)) {
        const detail = notSetUp(kind, watch.waysOut);
        throw new ApiProblem('channel-refused', detail, {
          errors: [{ pointer: '/kind', detail }],
        });
      }
      const fault =
        watch.faultOfAddress(kind, address) ??
        (kind === 'push' && keys === undefined ? 'A push subscription has two keys.' : undefined) ??
        (me.channels.length >= MOST_CHANNELS ? 'Ten ways to reach you are enough.' : undefined);
      if (fault !== undefined)
        throw new ApiProblem('channel-refused', fault, {
          errors: [{ pointer: '/address', detail: fault }],
        });
      const secret = kind === 'webhook' ? watch.newWebhookSecret() : undefined;
      const made = await watch.people.addChannel(me.id, {
        kind,
        address,
        ...(secret === undefined ? (keys === undefined ? {} : { keys }) : { keys: { secret } }),
      });
      await watch.audit.add({
        atMs: now(),
        kind: 'channel',
        by: me.name,
        ip: request.ip,
        subject: kind,
      });
      reply.code(201).header('cache-control', 'no-store');
      const [channel] = personJson({ ...me, channels: [made] }, true).channels ?? [];
      if (channel === undefined) throw new Error('addChannel: nothing came back');
      return { channel, secret: secret ?? null };
    },
  );

  app.delete(
    '/api/v1/me/channels/:id',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'endChannel',
        tags: ['people'],
        summary: 'Do not reach me this way any more',
        params: ChannelParamsSchema,
        response: { 204: Type.Null({ description: 'It is over.' }) },
      },
    },
    async (request, reply) => {
      const me = await person(request);
      if (!(await watch.people.endChannel(me.id, request.params.id, now()))) throw unknown();
      const ended = me.channels.find(({ id }) => id === request.params.id);
      await writeDown({ watch, now }, request, {
        kind: 'channel',
        subject: `${ended?.kind ?? request.params.id} ended`,
      });
      return reply.code(204).send(null);
    },
  );

  app.post(
    '/api/v1/me/channels/:id/test',
    {
      config: { allow: 'read', by: 'session' },
      schema: {
        operationId: 'testChannel',
        tags: ['people'],
        summary: 'Send me a message this way, to see that it works',
        params: ChannelParamsSchema,
        response: { 202: Type.Null({ description: 'It is on its way.' }) },
      },
    },
    async (request, reply) => {
      const me = await person(request);
      const channel = me.channels.find(({ id }) => id === request.params.id);
      if (channel === undefined) throw unknown();
      await watch.sendTest(me, channel);
      return reply.code(202).send(null);
    },
  );
}

const KIND_WORDS = {
  email: 'e-mail',
  text: 'text messages',
  webhook: 'webhooks',
  push: 'pushes',
} as const satisfies Record<ChannelKind, string>;

/** Said of the way first: an address is right or wrong only for a way that there is. */
const notSetUp = (kind: ChannelKind, ways: readonly ChannelKind[]): string =>
  `This server has no way out by ${KIND_WORDS[kind]}: ${
    ways.length === 0
      ? 'none is set up yet.'
      : `choose one it has (${ways.map((way) => KIND_WORDS[way]).join(', ')}).`
  }${kind === 'email' ? ' Whoever runs it sets DUSKLINE_SMTP_URL and DUSKLINE_MAIL_FROM to send mail.' : ''}`;

const unknown = (): ApiProblem =>
  new ApiProblem('channel-unknown', 'You have no such channel. GET /api/v1/me lists them.');
