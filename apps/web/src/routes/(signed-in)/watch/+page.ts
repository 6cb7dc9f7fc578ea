import type { AlertJson, AlertPageJson, FieldSheetJson, SitePageJson } from '@duskline/contract';
import { apiClient } from '$lib/api-client.ts';
import { watchClient } from '$lib/alerts/watch-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import { peopleClient } from '$lib/people/people-client.ts';
import { visitClient } from '$lib/visits/visit-client.ts';
import type { PageLoad } from './$types';

/** So many are read whole, so that they can be read again without coverage. */
const MOST_WHOLE = 20;

export const load: PageLoad = async (event) => {
  event.depends('duskline:watch');
  const api = apiClient(event.fetch);
  const watch = watchClient(event.fetch);
  const house = peopleClient(event.fetch);
  const [alerts, people, me, visits] = await Promise.all([
    watch.alerts(),
    house.people(),
    house.me(),
    visitClient(event.fetch).around(Date.now()),
  ]).catch(failLoad(event));
  const whole = alerts.slice(0, MOST_WHOLE);
  const siteIds = new Set(whole.filter(isAtSite).map(({ siteId }) => siteId));
  // A story or a place that does not come leaves an alert that can still be read and taken.
  const [stories, places, sheets] = await Promise.all([
    gather<AlertPageJson>(whole.map(({ id }) => watch.alert(id))),
    gather<SitePageJson>([...siteIds].map((id) => api.site(id))),
    gather<FieldSheetJson>([...siteIds].map((id) => visitClient(event.fetch).sheet(id))),
  ]);
  return {
    alerts,
    people,
    me,
    visits,
    stories: new Map(stories.map((story) => [story.alert.id, story])),
    sheets: new Map(sheets.map((sheet) => [sheet.siteId, sheet])),
    places: new Map(places.map((place) => [place.row.site.id, place])),
  };
};

const isAtSite = (alert: AlertJson): boolean => alert.siteName !== '';

async function gather<T>(asked: readonly Promise<T>[]): Promise<readonly T[]> {
  const answers = await Promise.allSettled(asked);
  return answers.flatMap((answer) => (answer.status === 'fulfilled' ? [answer.value] : []));
}
