import Type, { type Static } from 'typebox';

const tally = {
  kept: Type.Integer({ description: 'Different messages that wait.' }),
  received: Type.Integer({ description: 'How often they came in all.' }),
};

/** Messages that could not be accepted: those that wait, counted, and one page of them whole. */
export const QuarantineSchema = Type.Object(
  {
    entries: Type.Array(
      Type.Object({
        id: Type.String(),
        firstReceivedAt: Type.String({ format: 'date-time' }),
        receivedAt: Type.String({ format: 'date-time', description: 'When it came last.' }),
        topic: Type.String(),
        node: Type.Union([Type.String(), Type.Null()]),
        code: Type.String(),
        reason: Type.String(),
        payloadBase64: Type.String(),
        payloadBytes: Type.Integer(),
        count: Type.Integer({ description: 'How many times the same bytes came.' }),
        takenInAt: Type.Union([Type.String({ format: 'date-time' }), Type.Null()], {
          description: 'When it was taken in after all.',
        }),
      }),
    ),
    next: Type.Union([Type.String(), Type.Null()], {
      description: 'To be sent as `after` for the page that follows; null on the last.',
    }),
    ...tally,
    overCap: Type.Integer({
      description: 'Different messages above the cap of a node and day: counted, not kept.',
    }),
    byCode: Type.Array(Type.Object({ code: Type.String(), ...tally })),
    byNode: Type.Array(Type.Object({ node: Type.Union([Type.String(), Type.Null()]), ...tally })),
    unknownNodes: Type.Array(
      Type.Object({
        name: Type.String(),
        firstSeenAt: Type.String({ format: 'date-time' }),
        lastSeenAt: Type.String({ format: 'date-time' }),
        times: Type.Integer(),
      }),
      { description: 'Names under which somebody came that are no node here.' },
    ),
  },
  { $id: 'Quarantine' },
);
export type QuarantineJson = Static<typeof QuarantineSchema>;

/** Which messages: all that wait when nothing is said. */
export const QuarantineQuerySchema = Type.Object(
  {
    node: Type.Optional(Type.String({ maxLength: 40 })),
    code: Type.Optional(Type.String({ maxLength: 60 })),
    takenIn: Type.Optional(
      Type.Enum(['yes', 'no'], { description: 'Also those that were taken in after all.' }),
    ),
    after: Type.Optional(Type.String({ maxLength: 90, description: '`next` of the page before.' })),
  },
  { $id: 'QuarantineQuery', additionalProperties: false },
);
export type QuarantineQuery = Static<typeof QuarantineQuerySchema>;

/** Which messages to try again; all that wait when nothing is said. */
export const ReplaySchema = Type.Object(
  {
    ids: Type.Optional(
      Type.Array(Type.String({ pattern: '^[0-9a-f]{64}$' }), { minItems: 1, maxItems: 200 }),
    ),
    node: Type.Optional(Type.String({ maxLength: 40 })),
    code: Type.Optional(Type.String({ maxLength: 60 })),
  },
  { $id: 'Replay', additionalProperties: false },
);
export type ReplayJson = Static<typeof ReplaySchema>;

export const ReplayOutcomeSchema = Type.Object(
  {
    takenIn: Type.Integer({ description: 'Stored now.' }),
    alreadyThere: Type.Integer({ description: 'Their readings were there already.' }),
    stillRefused: Type.Integer({ description: 'Still cannot be accepted; each says why.' }),
    more: Type.Boolean({ description: 'There are more than one request tries: ask again.' }),
  },
  { $id: 'ReplayOutcome' },
);
export type ReplayOutcomeJson = Static<typeof ReplayOutcomeSchema>;
