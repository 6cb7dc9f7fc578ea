import { HOUR_MS } from '@duskline/domain';
import type { OutsideForecast } from '@duskline/forecast';
import type { OpenWeather } from '../open-weather.ts';

/** An outside forecast that is right: the true hours of the next days, as if issued at the start of each hour asked for. */
export function trueDaysFrom(
  weather: OpenWeather,
  days: number,
): (hour: number) => OutsideForecast {
  return (hour) => ({
    source: 'the record itself',
    issuedAtMs: weather.startMs + hour * HOUR_MS,
    startMs: weather.startMs + hour * HOUR_MS,
    stepMs: HOUR_MS,
    members: [{ ghiWm2: Array.from(weather.ghiWm2.subarray(hour, hour + days * 24)) }],
  });
}
