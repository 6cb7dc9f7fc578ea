import { alertStates, callKinds, channelKinds, priorities } from '@duskline/domain';
import Type, { type Static } from 'typebox';
import { AlertSchema } from './alert.ts';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const words = (maxLength: number) => Type.String({ minLength: 1, maxLength });

/** `POST /api/v1/alerts/:id/steps`: what a person does to an alert. */
export const AlertStepSchema = Type.Union(
  [
    Type.Object(
      { kind: Type.Literal('take'), until: Type.Optional(instant) },
      { additionalProperties: false },
    ),
    Type.Object(
      {
        kind: Type.Literal('hand-over'),
        to: Type.String({ description: 'Id of the person.' }),
        note: Type.Optional(words(300)),
      },
      { additionalProperties: false },
    ),
    Type.Object(
      {
        kind: Type.Literal('pause'),
        until: Type.String({ format: 'date-time', description: 'At most 30 days from now.' }),
        why: words(300),
      },
      { additionalProperties: false },
    ),
    Type.Object({ kind: Type.Literal('resume') }, { additionalProperties: false }),
    Type.Object({ kind: Type.Literal('note'), text: words(500) }, { additionalProperties: false }),
    Type.Object({ kind: Type.Literal('seen') }, { additionalProperties: false }),
  ],
  { $id: 'AlertStep' },
);
export type AlertStepJson = Static<typeof AlertStepSchema>;

/** A message as it stands in the outbox. */
export const MessageSchema = Type.Object(
  {
    key: Type.String({ description: 'The same at every attempt to send it.' }),
    kind: Type.Enum([...callKinds]),
    alertId: nullable(Type.String()),
    priority: Type.Enum([...priorities]),
    person: Type.String({ description: 'Name.' }),
    channel: nullable(Type.Enum([...channelKinds])),
    state: Type.Enum(['due', 'sent', 'dead', 'superseded', 'no-channel']),
    createdAt: instant,
    dueAt: instant,
    settledAt: nullable(instant),
    attempts: Type.Integer(),
    error: nullable(Type.String()),
    text: Type.String(),
  },
  { $id: 'Message' },
);
export type MessageJson = Static<typeof MessageSchema>;

/** `GET /api/v1/alerts/:id`. */
export const AlertPageSchema = Type.Object(
  {
    alert: AlertSchema,
    takenUntil: nullable(instant),
    paused: nullable(Type.Object({ by: Type.String(), until: instant, why: Type.String() })),
    handedTo: nullable(Type.String()),
    joins: nullable(
      Type.String({ description: 'The alert of the same cause that was open before.' }),
    ),
    history: Type.Array(
      Type.Object({
        at: instant,
        kind: Type.String(),
        state: Type.Enum([...alertStates]),
        priority: Type.Enum([...priorities]),
        by: nullable(Type.String({ description: 'Null: the rules.' })),
        why: Type.String(),
      }),
      { description: 'Oldest first.' },
    ),
    messages: Type.Array(MessageSchema, { description: 'The latest first.' }),
  },
  { $id: 'AlertPage' },
);
export type AlertPageJson = Static<typeof AlertPageSchema>;

/** `GET /api/v1/messages`: the latest messages, and how the ways out are doing. */
export const MessageListSchema = Type.Object(
  {
    messages: Type.Array(MessageSchema),
    channels: Type.Array(
      Type.Object({
        name: Type.String(),
        failures: Type.Integer({ description: 'In a row.' }),
        shutUntil: nullable(instant),
        error: nullable(Type.String()),
        failedAt: nullable(instant),
        sentAt: nullable(instant),
      }),
    ),
    setUp: Type.Array(Type.Enum([...channelKinds]), {
      description: 'Ways out that this server has been set up for.',
    }),
  },
  { $id: 'MessageList' },
);
export type MessageListJson = Static<typeof MessageListSchema>;

/** `GET` and `POST /api/v1/alert-links/:token`. */
export const AlertLinkSchema = Type.Object(
  {
    alert: AlertSchema,
    person: Type.String({ description: 'Name of the person the link was sent to.' }),
  },
  { $id: 'AlertLink' },
);
export type AlertLinkJson = Static<typeof AlertLinkSchema>;

/** `GET /api/v1/alert-health?days=…`. */
export const AlertHealthSchema = Type.Object(
  {
    from: instant,
    to: instant,
    alerts: Type.Integer(),
    figures: Type.Array(
      Type.Object({
        key: Type.String(),
        name: Type.String(),
        value: nullable(Type.Number()),
        unit: Type.String(),
        target: Type.String(),
        met: nullable(Type.Boolean({ description: 'Null: nothing to judge by.' })),
      }),
    ),
    byPerson: Type.Array(
      Type.Object({
        person: Type.String(),
        pushesPerOnCallDay: nullable(Type.Number()),
        nightWakeUpsPerWeek: Type.Number(),
        messages: Type.Integer(),
      }),
    ),
    topTen: Type.Array(
      Type.Object({
        rule: Type.String(),
        place: Type.String(),
        alerts: Type.Integer(),
        share: Type.Number(),
      }),
    ),
    chattering: Type.Array(
      Type.Object({ rule: Type.String(), place: Type.String(), times: Type.Integer() }),
    ),
    stale: Type.Array(Type.Object({ id: Type.String(), rule: Type.String(), days: Type.Number() })),
    priorities: Type.Array(
      Type.Object({
        priority: Type.Enum([...priorities]),
        alerts: Type.Integer(),
        share: Type.Number(),
        takenP50Minutes: nullable(Type.Number()),
        takenP90Minutes: nullable(Type.Number()),
      }),
    ),
  },
  { $id: 'AlertHealth' },
);
export type AlertHealthJson = Static<typeof AlertHealthSchema>;
