import type {
  AvailabilityJson,
  ExportEstimateJson,
  ExportJson,
  ExportListJson,
  NewExportJson,
} from '@duskline/contract';
import { apiClient } from '../api-client.ts';

/** What the pages about data ask the API. @throws ApiProblem as `apiClient` does */
export function exportClient(fetch: typeof globalThis.fetch = globalThis.fetch) {
  const { json, ask } = apiClient(fetch);
  return {
    list: async () => (await json<ExportListJson>('GET', '/exports')).exports,
    estimate: (query: NewExportJson) =>
      json<ExportEstimateJson>('POST', '/exports/estimate', query),
    start: (query: NewExportJson) => json<ExportJson>('POST', '/exports', query),
    remove: async (id: number) => void (await ask('DELETE', `/exports/${id}`)),
    availability: (from: string, to: string) =>
      json<AvailabilityJson>(
        'GET',
        `/availability?${new URLSearchParams({ from, to }).toString()}`,
      ),
  };
}

export const fileAddress = (id: number): string => `/api/v1/exports/${id}/file`;
export const availabilityCsvAddress = (from: string, to: string): string =>
  `/api/v1/availability.csv?${new URLSearchParams({ from, to }).toString()}`;
