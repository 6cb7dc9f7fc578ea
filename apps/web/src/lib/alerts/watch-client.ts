import type {
  AlertHealthJson,
  AlertJson,
  AlertLinkJson,
  AlertListJson,
  AlertPageJson,
  AlertStepJson,
} from '@duskline/contract';
import { apiClient } from '../api-client.ts';

const id = encodeURIComponent;

/** What Watch asks the API. @throws ApiProblem as `apiClient` does */
export function watchClient(fetch: typeof globalThis.fetch = globalThis.fetch) {
  const { json } = apiClient(fetch);
  return {
    alerts: async () => (await json<AlertListJson>('GET', '/alerts')).alerts,
    alert: (alertId: string) => json<AlertPageJson>('GET', `/alerts/${id(alertId)}`),
    step: (alertId: string, step: AlertStepJson) =>
      json<AlertJson>('POST', `/alerts/${id(alertId)}/steps`, step),
    link: (token: string) => json<AlertLinkJson>('GET', `/alert-links/${id(token)}`),
    takeByLink: (token: string) => json<AlertLinkJson>('POST', `/alert-links/${id(token)}`),
    health: (days: number) => json<AlertHealthJson>('GET', `/alert-health?days=${days}`),
  };
}
