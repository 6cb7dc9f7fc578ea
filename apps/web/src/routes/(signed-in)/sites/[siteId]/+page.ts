import { apiClient } from '$lib/api-client.ts';
import { failLoad } from '$lib/fail-load.ts';
import type { PageLoad } from './$types';
import { parseRange, rangeBounds } from './reading-range.ts';

/** What is drawn when the address names no metric: the first of these the node has, else whatever it has. */
const preferred = ['batt_v', 'charge', 'panel_w'];
const POINTS = 800;

export const load: PageLoad = async (event) => {
  const { fetch, params, url, depends } = event;
  depends('duskline:site');
  const api = apiClient(fetch);
  const site = await api.site(params.siteId).catch(failLoad(event));
  const wanted = [url.searchParams.get('metric'), ...preferred, site.metrics[0]];
  const metric = wanted.find((key) => key != null && site.metrics.includes(key)) ?? undefined;
  const range = parseRange(url.searchParams.get('range'));
  const { fromMs, toMs } = rangeBounds(range, Date.now());
  const readings =
    metric === undefined
      ? undefined
      : await api
          .readings(params.siteId, {
            metric,
            from: new Date(fromMs).toISOString(),
            to: new Date(toMs).toISOString(),
            points: POINTS,
          })
          .catch(failLoad(event));
  return { site, readings, metric, range, fromMs, toMs };
};
