import type {
  CalendarAddressJson,
  CalendarFeedJson,
  FieldSheetJson,
  LandOwnerJson,
  MoveVisitJson,
  NewRoundJson,
  NewVisitJson,
  RoundsJson,
  VisitJson,
  VisitListJson,
  VisitPageJson,
  VisitStepJson,
} from '@duskline/contract';
import { DAY_MS } from '@duskline/domain';
import { apiClient } from '../api-client.ts';

const id = encodeURIComponent;
const BACK_MS = 7 * DAY_MS;
const AHEAD_MS = 90 * DAY_MS;

const startOfDay = (atMs: number): string =>
  `${new Date(atMs).toISOString().slice(0, 10)}T00:00:00Z`;
const wholeDays = (fromMs: number, toMs: number) => ({
  from: startOfDay(fromMs),
  to: startOfDay(toMs),
});

/** What Rounds and visits ask the API. @throws ApiProblem as `apiClient` does */
export function visitClient(fetch: typeof globalThis.fetch = globalThis.fetch) {
  const { json, ask } = apiClient(fetch);
  return {
    /** @param from `54.71,-2.31`; empty: from nowhere */
    rounds: (from = '') =>
      json<RoundsJson>('GET', from === '' ? '/rounds' : `/rounds?from=${id(from)}`),
    planRound: async (round: NewRoundJson) =>
      (await json<VisitListJson>('POST', '/rounds', round)).visits,
    /** Days are rounded to whole ones, so that the same question stands for a day and its answer can be kept. */
    visits: async (fromMs: number, toMs: number) => {
      const params = new URLSearchParams(wholeDays(fromMs, toMs));
      return (await json<VisitListJson>('GET', `/visits?${params.toString()}`)).visits;
    },
    /** Visits from a week ago to three months ahead, of all sites or of one; none where they cannot be read: the page that asks lives without. */
    around: async (nowMs: number, siteId?: string): Promise<readonly VisitJson[]> => {
      const params = new URLSearchParams({
        ...wholeDays(nowMs - BACK_MS, nowMs + AHEAD_MS),
        ...(siteId === undefined ? {} : { site: siteId }),
      });
      return json<VisitListJson>('GET', `/visits?${params.toString()}`).then(
        ({ visits }) => visits,
        () => [],
      );
    },
    visit: (visitId: string) => json<VisitPageJson>('GET', `/visits/${id(visitId)}`),
    plan: (visit: NewVisitJson) => json<VisitJson>('POST', '/visits', visit),
    move: (visitId: string, move: MoveVisitJson) =>
      json<VisitPageJson>('POST', `/visits/${id(visitId)}/move`, move),
    report: (visitId: string, steps: readonly VisitStepJson[]) =>
      json<VisitPageJson>('POST', `/visits/${id(visitId)}/steps`, { steps }),
    setLandOwner: (siteId: string, owner: LandOwnerJson) =>
      json<LandOwnerJson>('PUT', `/sites/${id(siteId)}/land-owner`, owner),
    sheet: (siteId: string) => json<FieldSheetJson>('GET', `/sites/${id(siteId)}/field-sheet`),
    calendar: () => json<CalendarFeedJson>('GET', '/me/calendar'),
    renewCalendar: () => json<CalendarAddressJson>('POST', '/me/calendar'),
    endCalendar: async () => void (await ask('DELETE', '/me/calendar')),
  };
}
