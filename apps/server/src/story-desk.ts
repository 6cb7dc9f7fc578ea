import type { StoryPort } from '@duskline/api';
import type { Store } from '@duskline/store';

/** What a site's page tells beside figures, from where each is kept. */
export const createStoryDesk = (store: Store): StoryPort => ({
  diagnoses: (nodeId) => store.diagnoses.of(nodeId),
  events: (siteId, range) => store.events.list(siteId, range),
  addEvent: (event) => store.events.add(event),
  alerts: async (siteId, fromMs, toMs) =>
    (await store.alerts.between(fromMs, toMs)).filter((alert) => alert.siteId === siteId),
});
