import type {
  AlertJson,
  CardConflictsJson,
  CardImportJson,
  CardPieceJson,
  CardSettingsJson,
  FleetJson,
  NewCardImportJson,
  NewNodeJson,
  NewSiteJson,
  NodeSecretJson,
  Problem,
  QuarantineJson,
  QuarantineQuery,
  ReadingsJson,
  ReadingsQuery,
  ReplayJson,
  ReplayOutcomeJson,
  RuntimeJson,
  RuntimeRequestJson,
  LearntJson,
  MapSettingsJson,
  NewNoteJson,
  NewPartJson,
  NewSettingsRequestJson,
  NodeDiagnosesJson,
  PartJson,
  PartListJson,
  SettingsStoryJson,
  SiteEventJson,
  SiteStoryJson,
  WhatIfAnswerJson,
  WhatIfJson,
  ScoreJson,
  ScoreQueryJson,
  SeasonJson,
  SessionJson,
  WhatHelpsJson,
  SignInJson,
  SiteJson,
  SizingJson,
  SizingRequestJson,
  SiteListJson,
  SitePageJson,
} from '@duskline/contract';
import { ApiProblem } from './api-problem.ts';
import { keptAtMs } from './offline/kept-answers.ts';
import { lastKnown } from './offline/last-known.svelte.ts';

export { ApiProblem } from './api-problem.ts';

type Fetch = typeof globalThis.fetch;
const ROOT = '/api/v1';

async function problemOf(response: Response): Promise<ApiProblem> {
  const text = await response.text();
  try {
    return new ApiProblem(response.status, JSON.parse(text) as Partial<Problem>);
  } catch (cause) {
    const title = `The server answered ${response.status}.`;
    return new ApiProblem(response.status, { title, code: 'NO_PROBLEM_DETAILS' }, { cause });
  }
}

/**
 * The one place that asks the API. The shapes are the contract's; the server has validated what it sends.
 *
 * @param fetch  SvelteKit's inside `load`, the browser's elsewhere
 * @throws ApiProblem when the answer is not a success, or there is none
 */
export function apiClient(fetch: Fetch = globalThis.fetch) {
  async function ask(method: string, path: string, body?: unknown): Promise<Response> {
    const init: RequestInit = { method, credentials: 'same-origin' };
    if (body instanceof Blob) {
      init.headers = { 'content-type': body.type || 'application/octet-stream' };
      init.body = body;
    } else if (body !== undefined) {
      init.headers = { 'content-type': 'application/json' };
      init.body = JSON.stringify(body);
    }
    const response = await fetch(ROOT + path, init).catch((cause: unknown) => {
      throw new ApiProblem(0, {}, { cause });
    });
    if (!response.ok) throw await problemOf(response);
    if (method === 'GET') lastKnown.note(keptAtMs(response.headers));
    return response;
  }
  const json = async <T>(method: string, path: string, body?: unknown): Promise<T> =>
    (await (await ask(method, path, body)).json()) as T;
  const id = encodeURIComponent;

  return {
    /** For the clients of one subject that stand beside this one: lib/alerts, lib/people. */
    json,
    ask,
    session: () => json<SessionJson>('GET', '/session'),
    signIn: (credentials: SignInJson) => json<SessionJson>('POST', '/session', credentials),
    signOut: async () => void (await ask('DELETE', '/session')),
    fleet: () => json<FleetJson>('GET', '/fleet'),
    sites: () => json<SiteListJson>('GET', '/sites'),
    site: (siteId: string) => json<SitePageJson>('GET', `/sites/${id(siteId)}`),
    readings: (siteId: string, query: ReadingsQuery) => {
      const params = new URLSearchParams(
        Object.entries(query).map(([key, value]): [string, string] => [key, String(value)]),
      );
      return json<ReadingsJson>('GET', `/sites/${id(siteId)}/readings?${params.toString()}`);
    },
    score: (query: ScoreQueryJson) => {
      const params = new URLSearchParams(
        Object.entries(query).map(([key, value]): [string, string] => [key, String(value)]),
      );
      return json<ScoreJson>('GET', `/score?${params.toString()}`);
    },
    learnt: (node: string) => json<LearntJson>('GET', `/nodes/${id(node)}/learnt`),
    whatHelps: (node: string) => json<WhatHelpsJson>('GET', `/nodes/${id(node)}/what-helps`),
    whatIf: (node: string, change: WhatIfJson) =>
      json<WhatIfAnswerJson>('POST', `/nodes/${id(node)}/what-if`, change),
    diagnoses: (node: string) => json<NodeDiagnosesJson>('GET', `/nodes/${id(node)}/diagnoses`),
    nodeSettings: (node: string) => json<SettingsStoryJson>('GET', `/nodes/${id(node)}/settings`),
    askForSettings: (node: string, request: NewSettingsRequestJson) =>
      json<SettingsStoryJson>('POST', `/nodes/${id(node)}/settings`, request),
    siteStory: (siteId: string, fromMs: number, toMs: number) => {
      const params = new URLSearchParams({
        from: new Date(fromMs).toISOString(),
        to: new Date(toMs).toISOString(),
      });
      return json<SiteStoryJson>('GET', `/sites/${id(siteId)}/story?${params.toString()}`);
    },
    addNote: (siteId: string, note: NewNoteJson) =>
      json<SiteEventJson>('POST', `/sites/${id(siteId)}/notes`, note),
    parts: (siteId: string) => json<PartListJson>('GET', `/sites/${id(siteId)}/parts`),
    addPart: (siteId: string, part: NewPartJson) =>
      json<PartJson>('POST', `/sites/${id(siteId)}/parts`, part),
    map: () => json<MapSettingsJson>('GET', '/map'),
    season: (node: string) => json<SeasonJson>('GET', `/nodes/${id(node)}/season`),
    takeAlert: (alertId: string) => json<AlertJson>('POST', `/alerts/${id(alertId)}/take`),
    seenAlert: (alertId: string) => json<AlertJson>('POST', `/alerts/${id(alertId)}/seen`),
    createSite: (site: NewSiteJson) => json<SiteJson>('POST', '/sites', site),
    createNode: (siteId: string, node: NewNodeJson) =>
      json<NodeSecretJson>('POST', `/sites/${id(siteId)}/node`, node),
    size: (question: SizingRequestJson) => json<SizingJson>('POST', '/sizing', question),
    runtime: (question: RuntimeRequestJson) => json<RuntimeJson>('POST', '/runtime', question),
    openCard: (card: NewCardImportJson) => json<CardImportJson>('POST', '/card-imports', card),
    card: (cardId: number) => json<CardImportJson>('GET', `/card-imports/${cardId}`),
    bringCard: (cardId: number, place: number, offset: number, piece: Blob) =>
      json<CardPieceJson>('PUT', `/card-imports/${cardId}/files/${place}?offset=${offset}`, piece),
    readCard: (cardId: number, settings: CardSettingsJson) =>
      json<CardImportJson>('PUT', `/card-imports/${cardId}/settings`, settings),
    storeCard: (cardId: number) => json<CardImportJson>('POST', `/card-imports/${cardId}/store`),
    stopCard: (cardId: number) => json<CardImportJson>('POST', `/card-imports/${cardId}/stop`),
    discardCard: async (cardId: number) => void (await ask('DELETE', `/card-imports/${cardId}`)),
    cardConflicts: (cardId: number, skip: number) =>
      json<CardConflictsJson>('GET', `/card-imports/${cardId}/conflicts?skip=${skip}`),
    quarantine: (query: QuarantineQuery = {}) => {
      const params = new URLSearchParams(query).toString();
      return json<QuarantineJson>('GET', params === '' ? '/quarantine' : `/quarantine?${params}`);
    },
    replayQuarantine: (which: ReplayJson) =>
      json<ReplayOutcomeJson>('POST', '/quarantine/replay', which),
  };
}
