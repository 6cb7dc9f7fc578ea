import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const seconds = (description: string) => Type.Integer({ minimum: 1, maximum: 86_400, description });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

/** `POST /api/v1/nodes/:name/settings`: what is left out stays as the node's own configuration has it. */
export const NewSettingsRequestSchema = Type.Object(
  {
    logEveryS: Type.Optional(seconds('Seconds from one line of its log to the next.')),
    publishEveryS: Type.Optional(seconds('Seconds from one publication to the next.')),
    thriftUntil: Type.Optional(
      Type.String({ format: 'date-time', description: 'Then the node goes back by itself.' }),
    ),
  },
  {
    $id: 'NewSettingsRequest',
    additionalProperties: false,
    description: 'An empty one asks the node to go back to its own configuration now.',
  },
);
export type NewSettingsRequestJson = Static<typeof NewSettingsRequestSchema>;

/** `GET /api/v1/nodes/:name/settings`: what was asked, and what the node says it does. */
export const SettingsStorySchema = Type.Object(
  {
    node: Type.String(),
    inForce: Type.Union(
      [
        Type.Object({
          requestId: Type.String(),
          logEveryS: Type.Number(),
          publishEveryS: Type.Number(),
          thriftUntil: nullable(instant),
          refusal: nullable(Type.String({ description: 'Why a part of it is not followed.' })),
          saidAt: instant,
        }),
        Type.Null(),
      ],
      { description: 'By the node’s own word; null: it never said.' },
    ),
    requests: Type.Array(
      Type.Object({
        id: Type.String(),
        logEveryS: nullable(Type.Number()),
        publishEveryS: nullable(Type.Number()),
        thriftUntil: nullable(instant),
        askedAt: instant,
        askedBy: Type.String(),
        answeredAt: nullable(instant),
        refusal: nullable(Type.String()),
      }),
      { description: 'The latest first, 20 at most.' },
    ),
  },
  { $id: 'SettingsStory' },
);
export type SettingsStoryJson = Static<typeof SettingsStorySchema>;
