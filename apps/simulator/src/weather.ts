import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { seededRandom, type Random } from './random.ts';

/** The sky and air over one site at one instant. */
export interface SkyNow {
  /** Cloud cover, 0 clear … 1 overcast. */
  readonly cloud: number;
  readonly airC: number;
  readonly windMs: number;
  readonly relativeHumidityPct: number;
  readonly rainMmPerHour: number;
  readonly pressureHpa: number;
}

/** Weather of one catchment: fronts that all sites share, with some cloud of its own over each. */
export interface Weather {
  readonly at: (atMs: number, siteIndex: number, elevationM: number) => SkyNow;
}

/** Persistence of fronts and of single clouds, in hours: fronts last a day and a half, clouds half a day's half. */
const FRONT_HOURS = 36;
const CLOUD_HOURS = 4;

interface HourlyState {
  readonly front: number;
  readonly cloud: number;
  readonly warmth: number;
}

/**
 * Seeded weather for a cool, wet upland. Three first-order autoregressions an hour apart (front, cloud, warmth), read
 * off by linear interpolation. Invented, for the demo: it shares no code and no distribution with the forecaster.
 */
export function createWeather(seed: number, startMs: number): Weather {
  const random = seededRandom(seed);
  const hours: HourlyState[] = [{ front: 0.2, cloud: 0, warmth: 0 }];
  const stateAt = (hour: number): HourlyState => {
    while (hours.length <= hour)
      hours.push(nextHour(hours[hours.length - 1] as HourlyState, random));
    return hours[hour] as HourlyState;
  };

  return {
    at(atMs, siteIndex, elevationM) {
      const position = Math.max(0, (atMs - startMs) / HOUR_MS);
      const index = Math.floor(position);
      const before = stateAt(index);
      const after = stateAt(index + 1);
      const share = position - index;
      const mix = (key: keyof HourlyState) => before[key] * (1 - share) + after[key] * share;
      // Neighbouring sites see the same fronts; single clouds differ by a slow beat of their own.
      const own =
        0.6 *
        Math.sin(siteIndex * 12.9898 + index * 0.37) *
        Math.sin(siteIndex * 4.1 + index * 0.11);
      return skyOf(
        atMs,
        { front: mix('front'), cloud: mix('cloud') + own, warmth: mix('warmth') },
        elevationM,
      );
    },
  };
}

function nextHour(last: HourlyState, random: Random): HourlyState {
  const step = (value: number, hours: number) => {
    const kept = Math.exp(-1 / hours);
    return value * kept + Math.sqrt(1 - kept * kept) * random.normal();
  };
  return {
    front: step(last.front, FRONT_HOURS),
    cloud: step(last.cloud, CLOUD_HOURS),
    warmth: step(last.warmth, 60),
  };
}

function skyOf(atMs: number, state: HourlyState, elevationM: number): SkyNow {
  const cloud = 1 / (1 + Math.exp(-(1.9 * state.front + 0.9 * state.cloud + 0.7)));
  const dayOfYear = (atMs / DAY_MS) % 365.25;
  const hourOfDay = (atMs / HOUR_MS) % 24;
  const season = -Math.cos((2 * Math.PI * (dayOfYear - 25)) / 365.25);
  const daily = -Math.cos((2 * Math.PI * (hourOfDay - 3)) / 24);
  const airC =
    9 +
    6 * season +
    (1 + 2.2 * (1 - cloud)) * daily +
    2.6 * state.warmth -
    0.0065 * (elevationM - 200);
  const rain = cloud > 0.82 ? (cloud - 0.82) * 3 * (1 + 0.4 * state.cloud) : 0;
  return {
    cloud,
    airC,
    windMs: Math.max(0.2, 3.2 + 1.8 * state.front + 0.9 * state.cloud),
    relativeHumidityPct: Math.min(100, Math.max(45, 74 + 22 * (cloud - 0.4) - 5 * daily)),
    rainMmPerHour: Math.max(0, rain),
    pressureHpa: (1014 - 7 * state.front) * Math.exp(-elevationM / 8400),
  };
}
