import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);

export const AcceptedGapSchema = Type.Object(
  {
    id: Type.String(),
    siteId: Type.String(),
    from: instant,
    until: instant,
    by: Type.String(),
    reason: Type.String(),
  },
  { $id: 'AcceptedGap', description: 'Somebody accepts that a site is dark in that time.' },
);
export type AcceptedGapJson = Static<typeof AcceptedGapSchema>;

export const AcceptedGapListSchema = Type.Object(
  { gaps: Type.Array(AcceptedGapSchema) },
  { $id: 'AcceptedGapList' },
);

/** `POST /api/v1/accepted-gaps`. */
export const NewAcceptedGapSchema = Type.Object(
  {
    siteId: Type.String({ maxLength: 60 }),
    from: instant,
    until: instant,
    reason: Type.String({ minLength: 1, maxLength: 300 }),
  },
  { $id: 'NewAcceptedGap', additionalProperties: false },
);
export type NewAcceptedGapJson = Static<typeof NewAcceptedGapSchema>;

const scope = Type.Enum(['fleet', 'site', 'node']);
const valueInForce = Type.Object({
  scope,
  subject: Type.String({ description: 'Site id or node number; empty for the fleet.' }),
  rule: Type.String(),
  setting: Type.String(),
  value: nullable(Type.Number({ description: 'Null: the default again.' })),
  by: Type.String(),
  at: instant,
});

/** `GET /api/v1/rules`: every rule with its settings, what was set, and who set what when. */
export const RuleListSchema = Type.Object(
  {
    rules: Type.Array(
      Type.Object({
        key: Type.String(),
        name: Type.String(),
        why: Type.String(),
        who: Type.String(),
        aboutFleet: Type.Boolean(),
        settings: Type.Array(
          Type.Object({
            key: Type.String(),
            says: Type.String(),
            unit: Type.String(),
            default: Type.Number(),
            low: Type.Number(),
            high: Type.Number(),
          }),
        ),
      }),
    ),
    inForce: Type.Array(valueInForce),
    changes: Type.Array(valueInForce, { description: 'The latest first.' }),
  },
  { $id: 'RuleList' },
);
export type RuleListJson = Static<typeof RuleListSchema>;

/** `PUT /api/v1/rule-settings`. */
export const RuleSettingSchema = Type.Object(
  {
    scope,
    subject: Type.Optional(Type.String({ maxLength: 60 })),
    rule: Type.String({ maxLength: 60 }),
    setting: Type.String({ maxLength: 60 }),
    value: nullable(Type.Number()),
  },
  { $id: 'RuleSetting', additionalProperties: false },
);
export type RuleSettingJson = Static<typeof RuleSettingSchema>;

/** `PATCH /api/v1/sites/:siteId/marks`: what is left out stays as it is; null takes it away. */
export const SiteMarksSchema = Type.Object(
  {
    critical: Type.Optional(Type.Boolean()),
    link: Type.Optional(nullable(Type.String({ minLength: 1, maxLength: 80 }))),
    dataPlan: Type.Optional(
      nullable(
        Type.Object(
          {
            capBytes: Type.Integer({ minimum: 1, maximum: 1e13 }),
            renewsOnDay: Type.Integer({ minimum: 1, maximum: 28 }),
          },
          { additionalProperties: false },
        ),
      ),
    ),
    offForWork: Type.Optional(
      nullable(
        Type.Object(
          {
            owner: Type.String({ minLength: 1, maxLength: 120 }),
            until: instant,
            reason: Type.String({ minLength: 1, maxLength: 300 }),
          },
          { additionalProperties: false },
        ),
      ),
    ),
  },
  { $id: 'SiteMarks', additionalProperties: false },
);
export type SiteMarksJson = Static<typeof SiteMarksSchema>;
