import type {
  CalendarAddressJson,
  CalendarFeedJson,
  FieldSheetJson,
  NewRoundJson,
  NewVisitJson,
  RoundsJson,
  VisitJson,
  VisitListJson,
  VisitPageJson,
  VisitStepJson,
} from '@duskline/contract';
import { apiClient } from '../api-client.ts';

const id = encodeURIComponent;

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
      const params = new URLSearchParams({
        from: `${new Date(fromMs).toISOString().slice(0, 10)}T00:00:00Z`,
        to: `${new Date(toMs).toISOString().slice(0, 10)}T00:00:00Z`,
      });
      return (await json<VisitListJson>('GET', `/visits?${params.toString()}`)).visits;
    },
    visit: (visitId: string) => json<VisitPageJson>('GET', `/visits/${id(visitId)}`),
    plan: (visit: NewVisitJson) => json<VisitJson>('POST', '/visits', visit),
    report: (visitId: string, steps: readonly VisitStepJson[]) =>
      json<VisitPageJson>('POST', `/visits/${id(visitId)}/steps`, { steps }),
    sheet: (siteId: string) => json<FieldSheetJson>('GET', `/sites/${id(siteId)}/field-sheet`),
    calendar: () => json<CalendarFeedJson>('GET', '/me/calendar'),
    renewCalendar: () => json<CalendarAddressJson>('POST', '/me/calendar'),
    endCalendar: async () => void (await ask('DELETE', '/me/calendar')),
  };
}
