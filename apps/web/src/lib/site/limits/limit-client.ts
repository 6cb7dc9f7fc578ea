import type { QualityLimitsJson, SetQualityLimitsJson } from '@duskline/contract';
import { apiClient } from '../../api-client.ts';

/** Whose limits: a site by its id, a node by its name, a part by its id. */
export type LimitPlace = 'sites' | 'nodes' | 'parts';

/** What the API is asked about the limits of readings of one of them. */
export function limitClient(place: LimitPlace, id: string) {
  const { json } = apiClient();
  const of = `/${place}/${encodeURIComponent(id)}/quality-limits`;
  return {
    find: () => json<SetQualityLimitsJson>('GET', of),
    set: (limits: QualityLimitsJson) => json<SetQualityLimitsJson>('PUT', of, limits),
  };
}
