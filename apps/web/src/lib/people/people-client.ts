import type {
  AcceptedGapJson,
  InvitationJson,
  MadeChannelJson,
  MeJson,
  MyChangeJson,
  NewAcceptedGapJson,
  NewChannelJson,
  NewInvitationJson,
  NewShiftJson,
  NewSiteGroupJson,
  NewSwapJson,
  OpenInvitationJson,
  PersonChangeJson,
  PersonJson,
  PersonListJson,
  RotaJson,
  RuleListJson,
  RuleSettingJson,
  ShiftJson,
  SiteGroupJson,
  TakeUpJson,
} from '@duskline/contract';
import { apiClient } from '../api-client.ts';

const id = encodeURIComponent;

/** What the pages about people, rota and rules ask the API. @throws ApiProblem as `apiClient` does */
export function peopleClient(fetch: typeof globalThis.fetch = globalThis.fetch) {
  const { json, ask } = apiClient(fetch);
  const end = async (path: string): Promise<void> => void (await ask('DELETE', path));
  return {
    me: () => json<MeJson>('GET', '/me'),
    changeMe: (change: MyChangeJson) => json<MeJson>('PATCH', '/me', change),
    addChannel: (channel: NewChannelJson) => json<MadeChannelJson>('POST', '/me/channels', channel),
    endChannel: (channelId: string) => end(`/me/channels/${id(channelId)}`),
    testChannel: async (channelId: string) =>
      void (await ask('POST', `/me/channels/${id(channelId)}/test`)),
    people: async () => (await json<PersonListJson>('GET', '/people')).people,
    changePerson: (personId: string, change: PersonChangeJson) =>
      json<PersonJson>('PATCH', `/people/${id(personId)}`, change),
    endPerson: (personId: string) => end(`/people/${id(personId)}`),
    invitations: async () =>
      (await json<{ invitations: readonly InvitationJson[] }>('GET', '/invitations')).invitations,
    invite: (invitation: NewInvitationJson) =>
      json<InvitationJson>('POST', '/invitations', invitation),
    endInvitation: (invitationId: string) => end(`/invitations/${id(invitationId)}`),
    openInvitation: (token: string) =>
      json<OpenInvitationJson>('GET', `/invitations/open/${id(token)}`),
    takeUp: (token: string, person: TakeUpJson) =>
      json<PersonJson>('POST', `/invitations/open/${id(token)}`, person),
    groups: async () =>
      (await json<{ groups: readonly SiteGroupJson[] }>('GET', '/site-groups')).groups,
    addGroup: (group: NewSiteGroupJson) => json<SiteGroupJson>('POST', '/site-groups', group),
    changeGroup: (groupId: string, group: NewSiteGroupJson) =>
      json<SiteGroupJson>('PUT', `/site-groups/${id(groupId)}`, group),
    endGroup: (groupId: string) => end(`/site-groups/${id(groupId)}`),
    rota: (fromMs: number, toMs: number) => {
      const params = new URLSearchParams({
        from: new Date(fromMs).toISOString(),
        to: new Date(toMs).toISOString(),
      });
      return json<RotaJson>('GET', `/rota?${params.toString()}`);
    },
    addShift: (shift: NewShiftJson) => json<ShiftJson>('POST', '/shifts', shift),
    endShift: (shiftId: string) => end(`/shifts/${id(shiftId)}`),
    leaveOut: (shiftId: string, start: string) =>
      json<ShiftJson>('POST', `/shifts/${id(shiftId)}/exceptions`, { start }),
    swap: (shiftId: string, swap: NewSwapJson) =>
      json<ShiftJson>('POST', `/shifts/${id(shiftId)}/swaps`, swap),
    rules: () => json<RuleListJson>('GET', '/rules'),
    setRule: async (setting: RuleSettingJson) => void (await ask('PUT', '/rule-settings', setting)),
    gaps: async () =>
      (await json<{ gaps: readonly AcceptedGapJson[] }>('GET', '/accepted-gaps')).gaps,
    acceptGap: (gap: NewAcceptedGapJson) => json<AcceptedGapJson>('POST', '/accepted-gaps', gap),
    endGap: (gapId: string) => end(`/accepted-gaps/${id(gapId)}`),
  };
}
