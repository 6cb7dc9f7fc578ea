import { HOUR_MS } from '@duskline/domain';
import type { OutsideFacts, OutsideForecast } from '@duskline/forecast';
import type { OpenWeather } from '../open-weather.ts';

/** How many past forecasts are shown with the newest: what a site has seen of its forecaster in three weeks. */
const PAST = 20;

/** An outside forecast that is right: the true hours of the next days, as if issued at the start of each hour asked for. */
export function trueDaysFrom(weather: OpenWeather, days: number): (hour: number) => OutsideFacts {
  const issuedAt = (hour: number): OutsideForecast => ({
    source: 'the record itself',
    issuedAtMs: weather.startMs + hour * HOUR_MS,
    startMs: weather.startMs + hour * HOUR_MS,
    stepMs: HOUR_MS,
    members: [{ ghiWm2: Array.from(weather.ghiWm2.subarray(hour, hour + days * 24)) }],
  });
  return (hour) => ({
    latest: issuedAt(hour),
    past: Array.from({ length: PAST }, (_, i) => issuedAt(hour - (i + days) * 24)).filter(
      ({ startMs }) => startMs >= weather.startMs,
    ),
  });
}
