import { alertStates, eventKinds, priorities } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

export const SiteEventSchema = Type.Object(
  {
    at: instant,
    kind: Type.Enum([...eventKinds]),
    sentence: Type.String(),
    by: nullable(Type.String({ description: 'Who said so; null: the node or the rules.' })),
  },
  { $id: 'SiteEvent', description: 'One line of the logbook.' },
);
export type SiteEventJson = Static<typeof SiteEventSchema>;

export const SitePeriodQuerySchema = Type.Object(
  { from: instant, to: instant },
  { $id: 'SitePeriodQuery', additionalProperties: false },
);

/** `GET /api/v1/sites/:siteId/story?from=…&to=…`: what people, rules and the node had to say in that time. */
export const SiteStorySchema = Type.Object(
  {
    events: Type.Array(SiteEventSchema, { description: 'The latest first, 500 at most.' }),
    alerts: Type.Array(
      Type.Object({
        id: Type.String(),
        rule: Type.String(),
        priority: Type.Enum([...priorities]),
        state: Type.Enum([...alertStates]),
        sentence: Type.String(),
        openedAt: instant,
        takenAt: nullable(instant),
        takenBy: nullable(Type.String()),
        endedAt: nullable(instant),
      }),
      { description: 'That were open in that time, ended ones too, oldest first.' },
    ),
    nights: Type.Array(Type.Tuple([instant, instant]), {
      description: 'From sunset to sunrise at the site.',
    }),
  },
  { $id: 'SiteStory' },
);
export type SiteStoryJson = Static<typeof SiteStorySchema>;

/** `POST /api/v1/sites/:siteId/notes`: one more line of the logbook. */
export const NewNoteSchema = Type.Object(
  { sentence: Type.String({ minLength: 1, maxLength: 500 }) },
  { $id: 'NewNote', additionalProperties: false },
);
export type NewNoteJson = Static<typeof NewNoteSchema>;
