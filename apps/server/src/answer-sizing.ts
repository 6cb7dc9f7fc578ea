import type { ApiDeps } from '@duskline/api';
import type {
  RuntimeJson,
  RuntimeRequestJson,
  SizingBatteryJson,
  SizingJson,
  SizingRequestJson,
} from '@duskline/contract';
import { failed, ok, type PowerSystem, type Result } from '@duskline/domain';
import { type CustomBatteryFault, customBatteryOf, runtimeOf } from '@duskline/energy';
import {
  DEFAULT_CLIMATE_SOURCE,
  defaultClimate,
  type SiteClimate,
  type SizedSite,
  sizeSite,
} from '@duskline/forecast';
import { runtimeNotes, sayRuntime, saySizing, sizingNotes } from './say-sizing.ts';

type Sizing = NonNullable<ApiDeps['sizing']>;
type Fault = { readonly pointer: string; readonly detail: string };

const TEXTBOOK_SOURCE =
  'IEEE 1562 and 1013 as quoted by public summaries, partly from memory; both are for lead–acid batteries by their scope';
const GIVEN = 'as given in the question';

/** The sizing desk: questions of the API put to the energy and forecast models, answers in its shapes. */
export const answerSizing: Sizing = { size, runtime };

function size(request: SizingRequestJson): Result<SizingJson, readonly Fault[]> {
  const battery = batteryFrom(request.battery);
  if (!battery.ok) return battery;
  if (request.restartRatio <= request.shutDownRatio) {
    return failed([
      {
        pointer: '/restartRatio',
        detail: `The restart level ${request.restartRatio} is not above the shut-down level ${request.shutDownRatio}: raise it or lower the other.`,
      },
    ]);
  }
  const typical = defaultClimate(request.latitudeDeg);
  const climate: SiteClimate = {
    clearnessByMonth: request.clearnessByMonth ?? typical.clearnessByMonth,
    airCByMonth: request.airCByMonth ?? typical.airCByMonth,
  };
  const seed = request.seed ?? 1;
  const { latitudeDeg, longitudeDeg, elevationM, loadW, reliabilityRatio, criticality } = request;
  const sized = sizeSite({
    position: { latitudeDeg, longitudeDeg, elevationM },
    power: powerFrom(request, battery.value),
    loadW,
    reliabilityRatio,
    criticality,
    climate,
    seed,
  });
  return ok({
    ...figures(sized, { climate, loadW }),
    sentence: saySizing(sized, request),
    climate: {
      clearnessSource: request.clearnessByMonth === undefined ? DEFAULT_CLIMATE_SOURCE : GIVEN,
      airSource: request.airCByMonth === undefined ? DEFAULT_CLIMATE_SOURCE : GIVEN,
    },
    seed,
    notes: [...sizingNotes(sized, request)],
  });
}

function figures(
  sized: SizedSite,
  asked: { readonly climate: SiteClimate; readonly loadW: number },
): Omit<SizingJson, 'sentence' | 'climate' | 'seed' | 'notes'> {
  const { textbook } = sized;
  const range = ([least, most]: readonly [number, number]) => ({ least, most });
  return {
    months: sized.months.map((month) => ({
      month: month.month + 1,
      clearness: month.clearness,
      airC: asked.climate.airCByMonth[month.month]!,
      harvestWhPerDay: month.harvestWhPerDay,
      loadWhPerDay: asked.loadW * 24,
      arrayToLoad: month.arrayToLoad,
      darkDays: month.darkDays,
      chanceDark: month.chanceDark,
      blockedDays: month.blockedDays,
    })),
    worstMonth: sized.worstMonth + 1,
    upRatio: sized.upRatio,
    darkDaysPerYear: sized.darkDaysPerYear,
    meetsWish: sized.meetsWish,
    autonomyDays: sized.autonomyDays,
    textbook: {
      batteryWh: range(textbook.batteryWh),
      panelW: textbook.panelW === undefined ? null : range(textbook.panelW),
      autonomyDays: range(textbook.autonomyDays),
      arrayToLoad: range(textbook.arrayToLoad),
      source: TEXTBOOK_SOURCE,
    },
    smallestPanelW: sized.smallestPanelW ?? null,
    smallestBatteryWh: sized.smallestBatteryWh ?? null,
    pairs: [...sized.pairs],
    years: sized.years,
  };
}

function runtime(request: RuntimeRequestJson): Result<RuntimeJson, readonly Fault[]> {
  const battery = batteryFrom(request.battery);
  if (!battery.ok) return battery;
  const { loadW, shutDownRatio, fromRatio = 1, batteryC, healthRatio } = request;
  if (fromRatio < shutDownRatio) {
    return failed([
      {
        pointer: '/fromRatio',
        detail: `The charge ${fromRatio} is below the shut-down level ${shutDownRatio}: the node is dark already. Give a charge above it.`,
      },
    ]);
  }
  const found = runtimeOf({
    battery: battery.value,
    loadW,
    fromRatio,
    toRatio: shutDownRatio,
    ...(batteryC !== undefined && { batteryC }),
    ...(healthRatio !== undefined && { healthRatio }),
  });
  const { hours, lowHours, highHours, usableWh } = found;
  return ok({
    sentence: sayRuntime(found, request),
    hours,
    lowHours,
    highHours,
    usableWh,
    notes: [...runtimeNotes(found, request)],
  });
}

function batteryFrom(json: SizingBatteryJson): Result<PowerSystem['battery'], readonly Fault[]> {
  const { chemistry, ratedWh, ratedAh, seriesCells, own } = json;
  if (own === undefined) {
    if (ratedWh !== undefined) return ok({ chemistry, ratedWh, seriesCells });
    return failed([
      {
        pointer: '/battery/ratedWh',
        detail:
          'The battery has no energy: give ratedWh, or describe your own battery with ratedAh.',
      },
    ]);
  }
  const battery = customBatteryOf({
    name: own.name,
    like: chemistry,
    seriesCells,
    ...(ratedWh !== undefined && { ratedWh }),
    ...(ratedAh !== undefined && { ratedAh }),
    voltagePoints: own.voltagePoints.map((point) => [point.chargeRatio, point.voltageV]),
    chargeC: [own.charge.minC, own.charge.maxC],
    dischargeC: [own.discharge.minC, own.discharge.maxC],
    ...(own.restResistanceOhm !== undefined && { restResistanceOhm: own.restResistanceOhm }),
    ...(own.makerAllowsFreezingCharge !== undefined && {
      makerAllowsFreezingCharge: own.makerAllowsFreezingCharge,
    }),
  });
  return battery.ok ? battery : failed(battery.fault.map(pointed));
}

/** Where a fault of the model lies in the question. */
const PLACES: Readonly<Record<string, string>> = {
  name: '/battery/own/name',
  ratedWh: '/battery/ratedWh',
  ratedAh: '/battery/ratedAh',
  seriesCells: '/battery/seriesCells',
  chargeC: '/battery/own/charge',
  dischargeC: '/battery/own/discharge',
  restResistanceOhm: '/battery/own/restResistanceOhm',
};

function pointed({ where, what, mend }: CustomBatteryFault): Fault {
  const index = /\[(\d+)\]/.exec(where)?.[1];
  const points = '/battery/own/voltagePoints';
  return {
    pointer: PLACES[where] ?? (index === undefined ? points : `${points}/${index}`),
    detail: `${what} ${mend}`,
  };
}

function powerFrom(request: SizingRequestJson, battery: PowerSystem['battery']): PowerSystem {
  return {
    panel: {
      ratedW: request.panelW,
      tiltDeg: request.panelTiltDeg,
      azimuthDeg: request.panelAzimuthDeg,
    },
    battery,
    charger: request.charger,
    shutDownRatio: request.shutDownRatio,
    restartRatio: request.restartRatio,
    offStateDrawW: request.offStateDrawW,
    usualGapS: 3600, // not asked for: sizing does not look at messages
  };
}
