import { alertStates, priorities } from '@duskline/domain';
import Type, { type Static } from 'typebox';

/** What another rule sees of the same physical cause. */
export const JoinedAlertSchema = Type.Object(
  {
    id: Type.String(),
    rule: Type.String(),
    priority: Type.Enum([...priorities]),
    state: Type.Enum([...alertStates]),
    sentence: Type.String(),
    figures: Type.String(),
    byWhen: Type.String(),
    todo: Type.String(),
    bring: Type.String(),
  },
  { $id: 'JoinedAlert' },
);
export type JoinedAlertJson = Static<typeof JoinedAlertSchema>;

export const AlertSchema = Type.Object(
  {
    id: Type.String(),
    siteId: Type.String(),
    siteName: Type.String(),
    rule: Type.String(),
    priority: Type.Enum([...priorities]),
    state: Type.Enum([...alertStates]),
    openedAt: Type.String({ format: 'date-time' }),
    takenAt: Type.Union([Type.String({ format: 'date-time' }), Type.Null()]),
    takenBy: Type.Union([Type.String(), Type.Null()]),
    endedAt: Type.Union([Type.String({ format: 'date-time' }), Type.Null()]),
    paused: Type.Union([
      Type.Object({
        by: Type.String(),
        until: Type.String({ format: 'date-time' }),
        why: Type.String(),
      }),
      Type.Null(),
    ]),
    handed: Type.Union(
      [
        Type.Object({
          to: Type.String(),
          says: Type.String({ description: 'To whom, by whom, and what they were told.' }),
        }),
        Type.Null(),
      ],
      { description: 'Whom it was handed to, who has not taken it yet.' },
    ),
    sentence: Type.String(),
    figures: Type.String(),
    byWhen: Type.String(),
    todo: Type.String(),
    bring: Type.String(),
    cautions: Type.Array(Type.String(), {
      description: 'Its own, and those of what joined it.',
    }),
    also: Type.Array(JoinedAlertSchema, {
      description:
        'What other rules see of the same cause, the oldest first: nobody was called for them, and every step on the alert is a step on them.',
    }),
  },
  {
    $id: 'Alert',
    description: 'Something a person can act on, and how: one for each physical cause.',
  },
);
export type AlertJson = Static<typeof AlertSchema>;

export const AlertListSchema = Type.Object(
  { alerts: Type.Array(AlertSchema) },
  { $id: 'AlertList' },
);
export type AlertListJson = Static<typeof AlertListSchema>;
