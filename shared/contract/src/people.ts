import { channelKinds, roles } from '@duskline/domain';
import Type, { type Static } from 'typebox';

const instant = Type.String({ format: 'date-time' });
const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
const name = Type.String({ minLength: 1, maxLength: 120 });
const email = Type.String({
  minLength: 3,
  maxLength: 200,
  pattern: '^[^\\s@<>,;:"]+@[^\\s@<>,;:"]+$',
});
const phone = Type.String({ maxLength: 30, pattern: '^[+0-9 ()-]*$' });
const timeZone = Type.String({ minLength: 1, maxLength: 60, description: 'IANA name.' });
const clock = Type.String({
  pattern: '^([01][0-9]|2[0-3]):[0-5][0-9]$',
  description: 'HH:MM, local.',
});
const groupIds = Type.Array(Type.String({ maxLength: 40 }), { maxItems: 100 });

export const ChannelSchema = Type.Object(
  {
    id: Type.String(),
    kind: Type.Enum([...channelKinds]),
    address: Type.String(),
    fault: nullable(Type.String({ description: 'Set: nothing reaches it, and why.' })),
  },
  { $id: 'Channel' },
);
export type ChannelJson = Static<typeof ChannelSchema>;

export const PersonSchema = Type.Object(
  {
    id: Type.String(),
    name: Type.String(),
    role: Type.Enum([...roles]),
    endedAt: nullable(instant),
    groups: Type.Array(Type.String(), { description: 'Ids; none: all sites.' }),
    timeZone: Type.String(),
    email: nullable(Type.String({ description: 'Null: not yours to see.' })),
    phone: nullable(Type.String()),
    quiet: nullable(Type.Object({ from: clock, until: clock })),
    channels: nullable(Type.Array(ChannelSchema)),
  },
  { $id: 'Person' },
);
export type PersonJson = Static<typeof PersonSchema>;

export const PersonListSchema = Type.Object(
  { people: Type.Array(PersonSchema) },
  { $id: 'PersonList' },
);
export type PersonListJson = Static<typeof PersonListSchema>;

/** `PATCH /api/v1/people/:id`. */
export const PersonChangeSchema = Type.Object(
  {
    name: Type.Optional(name),
    phone: Type.Optional(phone),
    timeZone: Type.Optional(timeZone),
    role: Type.Optional(Type.Enum([...roles])),
    groups: Type.Optional(groupIds),
  },
  { $id: 'PersonChange', additionalProperties: false },
);
export type PersonChangeJson = Static<typeof PersonChangeSchema>;

/** `GET /api/v1/me`: oneself, and whether one is on call. */
export const MeSchema = Type.Object(
  {
    person: PersonSchema,
    onCallUntil: nullable(instant),
    nextShiftAt: nullable(instant),
    pushKey: nullable(Type.String({ description: 'To subscribe with; null: no push here.' })),
    waysOut: Type.Array(Type.Enum([...channelKinds]), {
      description: 'Kinds of channel this server can use.',
    }),
  },
  { $id: 'Me' },
);
export type MeJson = Static<typeof MeSchema>;

/** `PATCH /api/v1/me`. */
export const MyChangeSchema = Type.Object(
  {
    name: Type.Optional(name),
    phone: Type.Optional(phone),
    timeZone: Type.Optional(timeZone),
    quiet: Type.Optional(
      Type.Object({ from: clock, until: clock }, { additionalProperties: false }),
    ),
  },
  { $id: 'MyChange', additionalProperties: false },
);
export type MyChangeJson = Static<typeof MyChangeSchema>;

/** `POST /api/v1/me/channels`. Push: `address` is the endpoint of the subscription, with its two keys. */
export const NewChannelSchema = Type.Object(
  {
    kind: Type.Enum([...channelKinds]),
    address: Type.String({ minLength: 3, maxLength: 1000 }),
    keys: Type.Optional(
      Type.Object(
        { p256dh: Type.String({ maxLength: 200 }), auth: Type.String({ maxLength: 100 }) },
        { additionalProperties: false },
      ),
    ),
  },
  { $id: 'NewChannel', additionalProperties: false },
);
export type NewChannelJson = Static<typeof NewChannelSchema>;

export const MadeChannelSchema = Type.Object(
  {
    channel: ChannelSchema,
    secret: nullable(
      Type.String({ description: 'Of a webhook: checks its signature. Shown this once.' }),
    ),
  },
  { $id: 'MadeChannel' },
);
export type MadeChannelJson = Static<typeof MadeChannelSchema>;

/** `POST /api/v1/invitations`. */
export const NewInvitationSchema = Type.Object(
  { email, name, role: Type.Enum([...roles]), groups: Type.Optional(groupIds) },
  { $id: 'NewInvitation', additionalProperties: false },
);
export type NewInvitationJson = Static<typeof NewInvitationSchema>;

export const InvitationSchema = Type.Object(
  {
    id: Type.String(),
    email: Type.String(),
    name: Type.String(),
    role: Type.Enum([...roles]),
    groups: Type.Array(Type.String()),
    by: Type.String(),
    expiresAt: instant,
    link: nullable(
      Type.String({ description: 'Path of the page that takes it up. Shown this once.' }),
    ),
  },
  { $id: 'Invitation' },
);
export type InvitationJson = Static<typeof InvitationSchema>;

export const InvitationListSchema = Type.Object(
  { invitations: Type.Array(InvitationSchema) },
  { $id: 'InvitationList' },
);

/** `GET /api/v1/invitations/open/:token`: what the invited person sees before taking it up. */
export const OpenInvitationSchema = Type.Object(
  { email: Type.String(), name: Type.String(), role: Type.Enum([...roles]), by: Type.String() },
  { $id: 'OpenInvitation' },
);
export type OpenInvitationJson = Static<typeof OpenInvitationSchema>;

/** `POST /api/v1/invitations/open/:token`. */
export const TakeUpSchema = Type.Object(
  {
    name,
    password: Type.String({ minLength: 15, maxLength: 128 }),
    timeZone,
  },
  { $id: 'TakeUp', additionalProperties: false },
);
export type TakeUpJson = Static<typeof TakeUpSchema>;

export const SiteGroupSchema = Type.Object(
  { id: Type.String(), name: Type.String(), siteIds: Type.Array(Type.String()) },
  { $id: 'SiteGroup' },
);
export type SiteGroupJson = Static<typeof SiteGroupSchema>;

export const SiteGroupListSchema = Type.Object(
  { groups: Type.Array(SiteGroupSchema) },
  { $id: 'SiteGroupList' },
);

/** `POST /api/v1/site-groups`, `PUT /api/v1/site-groups/:id`. */
export const NewSiteGroupSchema = Type.Object(
  { name, siteIds: Type.Array(Type.String({ maxLength: 60 }), { maxItems: 10_000 }) },
  { $id: 'NewSiteGroup', additionalProperties: false },
);
export type NewSiteGroupJson = Static<typeof NewSiteGroupSchema>;

/** `GET /api/v1/audit`. */
export const AuditListSchema = Type.Object(
  {
    entries: Type.Array(
      Type.Object({
        at: instant,
        kind: Type.String(),
        by: nullable(Type.String()),
        ip: nullable(Type.String()),
        subject: Type.String(),
        before: Type.Unknown(),
        after: Type.Unknown(),
      }),
    ),
  },
  { $id: 'AuditList' },
);
export type AuditListJson = Static<typeof AuditListSchema>;
