import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const local = Type.String({
  pattern: '^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}$',
  description: 'On the clock of the shift’s zone, without seconds.',
});

export const ShiftSchema = Type.Object(
  {
    id: Type.String(),
    personId: Type.String(),
    person: Type.String(),
    groupId: nullable(Type.String({ description: 'Null: for all sites.' })),
    start: local,
    durationMinutes: Type.Integer(),
    timeZone: Type.String(),
    recurrence: Type.String({ description: 'RRULE of RFC 5545; empty: once.' }),
    exceptions: Type.Array(local),
  },
  { $id: 'Shift' },
);
export type ShiftJson = Static<typeof ShiftSchema>;

/** `GET /api/v1/rota?from=…&to=…`. */
export const RotaSchema = Type.Object(
  {
    shifts: Type.Array(ShiftSchema),
    duties: Type.Array(
      Type.Object({
        shiftId: Type.String(),
        start: local,
        from: instant,
        until: instant,
        personId: Type.String(),
        person: Type.String(),
        groupId: nullable(Type.String()),
        insteadOf: nullable(Type.String({ description: 'Whose shift it is by the rota.' })),
      }),
      { description: 'Oldest first.' },
    ),
    gaps: Type.Array(
      Type.Object({
        from: instant,
        until: instant,
        groupId: nullable(Type.String()),
        says: Type.String(),
      }),
      { description: 'Stretches in which nobody is on call.' },
    ),
    handOver: Type.String({
      description:
        'For whoever comes on call next: what happened in the last week, in plain words.',
    }),
  },
  { $id: 'Rota' },
);
export type RotaJson = Static<typeof RotaSchema>;

/** `POST /api/v1/shifts`. */
export const NewShiftSchema = Type.Object(
  {
    personId: Type.String({ maxLength: 40 }),
    groupId: Type.Optional(Type.String({ maxLength: 40 })),
    start: local,
    durationMinutes: Type.Integer({ minimum: 15, maximum: 44_640 }),
    timeZone: Type.String({ minLength: 1, maxLength: 60 }),
    recurrence: Type.Optional(
      Type.String({
        maxLength: 200,
        pattern: '^[A-Z0-9=;,+-]*$',
        examples: ['FREQ=WEEKLY;INTERVAL=3'],
      }),
    ),
  },
  { $id: 'NewShift', additionalProperties: false },
);
export type NewShiftJson = Static<typeof NewShiftSchema>;

/** `POST /api/v1/shifts/:id/exceptions`. */
export const ShiftExceptionSchema = Type.Object(
  { start: local },
  { $id: 'ShiftException', additionalProperties: false },
);

/** `POST /api/v1/shifts/:id/swaps`. */
export const NewSwapSchema = Type.Object(
  { start: local, to: Type.String({ maxLength: 40 }) },
  { $id: 'NewSwap', additionalProperties: false },
);
export type NewSwapJson = Static<typeof NewSwapSchema>;
