import type { OutlookJson } from '@duskline/contract';
import type { HarvestStop, Outlook, OutlookWeather, ReturnOutlook } from '@duskline/domain';
import { finite, finiteOrNull } from './finite.ts';
import { instant, instantOrNull } from './instant.ts';

/** The outlook as the API says it: null where nothing is known or it lies beyond the horizon, never a made-up number. */
export function outlookJson(outlook: Outlook): OutlookJson {
  const frame = {
    issuedAt: instant(outlook.issuedAtMs),
    horizonDays: outlook.horizonDays,
    model: outlook.model,
    seed: outlook.seed,
    ...(outlook.harvestStop === undefined ? {} : { harvestStop: stopJson(outlook.harvestStop) }),
  };
  switch (outlook.kind) {
    case 'insufficient-data':
      return {
        ...frame,
        ...nothingKnown,
        kind: outlook.kind,
        missing: outlook.missing,
        have: finite(outlook.have, 'have'),
        need: finite(outlook.need, 'need'),
        back: backJson(outlook.back),
      };
    case 'beyond-horizon':
      return { ...frame, ...nothingKnown, ...figures(outlook), kind: outlook.kind };
    case 'empties-in':
      return {
        ...frame,
        ...nothingKnown,
        ...figures(outlook),
        kind: outlook.kind,
        p10Days: finite(outlook.p10Days, 'p10Days'),
        p50Days: finiteOrNull(outlook.p50Days, 'p50Days'),
        p90Days: finiteOrNull(outlook.p90Days, 'p90Days'),
        back: backJson(outlook.back),
      };
  }
}

const stopJson = ({ sinceMs, cause, probability }: HarvestStop) => ({
  since: instant(sinceMs),
  cause,
  probability: finite(probability, 'probability of the stop'),
});

const nothingKnown = {
  p10Days: null,
  p50Days: null,
  p90Days: null,
  darkWithin3DaysProbability: null,
  darkWithin7DaysProbability: null,
  darkWithin14DaysProbability: null,
  missing: null,
  have: null,
  need: null,
  back: null,
  drivers: null,
};

function figures(outlook: Exclude<Outlook, { kind: 'insufficient-data' }>) {
  const { drivers } = outlook;
  return {
    darkWithin3DaysProbability: finite(outlook.darkWithin3DaysProbability, 'within 3 days'),
    darkWithin7DaysProbability: finite(outlook.darkWithin7DaysProbability, 'within 7 days'),
    darkWithin14DaysProbability: finite(outlook.darkWithin14DaysProbability, 'within 14 days'),
    drivers: {
      harvestWhPerDay: finite(drivers.harvestWhPerDay, 'harvestWhPerDay'),
      loadWhPerDay: finite(drivers.loadWhPerDay, 'loadWhPerDay'),
      reserveWh: finite(drivers.reserveWh, 'reserveWh'),
      noSunReserveDays: finite(drivers.noSunReserveDays, 'noSunReserveDays'),
      harvestRatio: finite(drivers.harvestRatio, 'harvestRatio'),
      historyDays: finite(drivers.historyDays, 'historyDays'),
      ...(drivers.spilledWhPerDay === undefined
        ? {}
        : { spilledWhPerDay: finite(drivers.spilledWhPerDay, 'spilledWhPerDay') }),
    },
    ...(outlook.reasons === undefined
      ? {}
      : { reasons: outlook.reasons.map(({ about, says }) => ({ about, says })) }),
    ...(outlook.weather === undefined ? {} : { weather: weatherJson(outlook.weather) }),
  };
}

function weatherJson(weather: OutlookWeather): NonNullable<OutlookJson['weather']> {
  const { outside } = weather;
  return {
    ownShare: finite(weather.ownShare, 'ownShare'),
    seasonShare: finite(weather.seasonShare, 'seasonShare'),
    climateShare: finite(weather.climateShare, 'climateShare'),
    clearnessFrom: weather.clearnessFrom,
    panel: {
      ratio: finite(weather.panel.ratio, 'panel.ratio'),
      sigma: finite(weather.panel.sigma, 'panel.sigma'),
    },
    ...(outside === undefined
      ? {}
      : {
          outside: {
            source: outside.source,
            issuedAt: instant(outside.issuedAtMs),
            days: finite(outside.days, 'days'),
            pairs: finite(outside.pairs, 'pairs'),
          },
        }),
  };
}

function backJson(back: ReturnOutlook | undefined): OutlookJson['back'] {
  if (back === undefined) return null;
  const window = back.kind === 'expected-back' ? back.window : undefined;
  return {
    kind: back.kind,
    p10At: instantOrNull(window?.p10Ms),
    p50At: instantOrNull(window?.p50Ms),
    p90At: instantOrNull(window?.p90Ms),
  };
}
