import {
  DAY_MS,
  type ChargeEstimate,
  type HarvestStop,
  type OutlookDrivers,
  type OutlookReason,
  type OutlookWeather,
  sayMoment,
} from '@duskline/domain';
import { chargeBlock, solarDayStartMs } from '@duskline/energy';
import type { ForecastInputs } from './forecast-inputs.ts';
import type { SiteLearning } from './learn/learn-site.ts';
import type { LearntSite } from './learn/learnt-site.ts';
import { turnDeg } from './learn/panel-orientation.ts';
import type { PreparedWalk } from './prepare-walk.ts';
import { sayAmount, sayPercent } from './say-amount.ts';

/** Below this a panel does markedly less than its plate on its best hours. */
const POOR_SCALE = 0.8;
/** Below this a battery holds markedly less than its plate. */
const WORN_HEALTH = 0.9;
/** A share of the hours too cold or too hot to charge that is worth a word. */
const BLOCKED_SHARE = 0.05;

/**
 * What pushes the outlook, one sentence each, with figures and units.
 *
 * @returns harvest, load, reserve, weather and temperature always; panel and battery where there is something to say
 */
export function outlookReasons(facts: {
  readonly inputs: ForecastInputs;
  readonly prepared: PreparedWalk;
  readonly drivers: OutlookDrivers;
}): readonly OutlookReason[] {
  const { inputs, prepared, drivers } = facts;
  const { learning, weatherUse } = prepared;
  return [
    {
      about: 'harvest',
      says:
        inputs.harvestStop === undefined
          ? harvestSays(learning, drivers)
          : stopSays(inputs.harvestStop),
    },
    { about: 'load', says: loadSays(inputs, prepared, drivers) },
    { about: 'reserve', says: reserveSays(inputs.charge, inputs.dark !== undefined, drivers) },
    { about: 'weather', says: weatherSays(weatherUse, drivers) },
    { about: 'temperature', says: temperatureSays(prepared) },
    ...panelSays(inputs, learning).map((says) => ({ about: 'panel' as const, says })),
    ...batterySays(inputs.learnt).map((says) => ({ about: 'battery' as const, says })),
  ];
}

const HARVEST_FROM: Readonly<Record<SiteLearning['harvestFrom'], string>> = {
  panel: 'read at the panel',
  current: 'worked back from the current of the battery, as nothing reads the panel',
  charge: 'worked back from the rise of charge, as nothing reads the panel or the current',
  none: 'never read',
};

function harvestSays({ harvestFrom }: SiteLearning, drivers: OutlookDrivers): string {
  const { harvestWhPerDay, harvestRatio, spilledWhPerDay = 0 } = drivers;
  if (harvestWhPerDay === 0) return 'The sun does not reach the panel in the next seven days.';
  const spilled =
    spilledWhPerDay > 0.05 * harvestWhPerDay
      ? ` Of it ${sayAmount(spilledWhPerDay, 'Wh')} a day will find the battery full or too cold and be lost.`
      : '';
  return (
    `The panel should give about ${sayAmount(harvestWhPerDay, 'Wh')} a day in the next seven days; ` +
    `lately it gave ${sayPercent(harvestRatio)} of what a cloudless sky allows (${HARVEST_FROM[harvestFrom]}).${spilled}`
  );
}

/** In UTC, as the date of the load's step. */
function stopSays({ sinceMs, cause, probability }: HarvestStop): string {
  return (
    `No harvest is reckoned with until somebody mends it: nothing has come in since ${sayMoment(sinceMs, 'UTC')}, ` +
    `most likely ${cause} (connector and charger taken together: ${sayPercent(probability)}).`
  );
}

function loadSays(
  { position }: ForecastInputs,
  { learning: { load }, start }: PreparedWalk,
  { loadWhPerDay }: OutlookDrivers,
): string {
  const how =
    load.from === 'measured'
      ? `measured over ${load.days} days`
      : `told by the fall of charge in ${load.days} nights, as nothing reads the load`;
  const amount = `The node draws ${sayAmount(loadWhPerDay, 'Wh')} a day (${how}).`;
  if (load.step === undefined) return amount;
  const { day, fromWhPerDay, toWhPerDay } = load.step;
  const atMs = solarDayStartMs(start.startMs, position.longitudeDeg) + (day + 0.5) * DAY_MS;
  const on = new Date(atMs).toISOString().slice(0, 10);
  return (
    `${amount} It changed from ${sayAmount(fromWhPerDay, 'Wh')} to ` +
    `${sayAmount(toWhPerDay, 'Wh')} a day on ${on} (UTC date); only the days since then count.`
  );
}

function reserveSays(
  charge: ChargeEstimate | undefined,
  isDark: boolean,
  { reserveWh, noSunReserveDays }: OutlookDrivers,
): string {
  if (isDark)
    return 'The node is dark: it waits for the restart level and draws only its off-state draw.';
  const amount =
    `${sayAmount(reserveWh, 'Wh')} are left above the shut-down level: ` +
    `${sayAmount(noSunReserveDays, 'days')} without any sun.`;
  if (charge === undefined || charge.method === 'gauge' || charge.method === 'counted')
    return amount;
  const half = (charge.highRatio - charge.lowRatio) / 2;
  return `${amount} The charge is read from the voltage and good to ±${Math.round(100 * half)} points only.`;
}

function weatherSays(use: OutlookWeather, { historyDays }: OutlookDrivers): string {
  const own = use.ownShare + use.seasonShare;
  const from =
    use.clearnessFrom === 'site'
      ? 'monthly values set for the site'
      : 'its latitude and what was seen';
  const mixed =
    `${sayPercent(own)} of the paths follow the node’s own ${historyDays} days, ` +
    `${sayPercent(use.climateShare)} the climate of the place (${from}).`;
  if (use.outside === undefined) return mixed;
  return `The first ${use.outside.days} days follow the forecast of ${use.outside.source}; then ${mixed}`;
}

function temperatureSays({ learning, plan }: PreparedWalk): string {
  const { temperatureC, pack } = plan;
  let sum = 0;
  let blocked = 0;
  for (const batteryC of temperatureC) {
    sum += batteryC;
    if (chargeBlock(pack.facts, batteryC) !== undefined) blocked++;
  }
  const mean = `${Math.round(sum / temperatureC.length)} °C`;
  const [minC, maxC] = pack.facts.chargeTemperatureC;
  const share = blocked / temperatureC.length;
  const limit = `outside ${minC} to ${maxC} °C it takes no charge`;
  if (learning.temperatureFrom === 'assumed')
    return `Nothing measures the temperature of the battery; ${mean} is assumed, and a block by cold is not foreseen (${limit}).`;
  const from = learning.temperatureFrom === 'air' ? ' (from the air)' : '';
  const often =
    share >= BLOCKED_SHARE
      ? `in ${sayPercent(share)} of the hours drawn from it is too cold or too hot to be charged`
      : 'it is seldom too cold or too hot to be charged';
  return `The battery is at ${mean} on average${from}; ${often} (${limit}).`;
}

function panelSays(inputs: ForecastInputs, learning: SiteLearning): readonly string[] {
  const says: string[] = [];
  const { learnt, power } = inputs;
  const turn = turnDeg(power.panel, learning.panel);
  if (turn > 0)
    says.push(
      `The panel seems to face ${Math.round(learning.panel.azimuthDeg)}° at a tilt of ` +
        `${Math.round(learning.panel.tiltDeg)}°, not ${power.panel.azimuthDeg}° at ${power.panel.tiltDeg}° as entered; ` +
        'the outlook uses what was learnt.',
    );
  const shaded = learning.shade.filter(({ shadeRatio }) => shadeRatio < 1);
  if (shaded.length > 0) {
    const worst = shaded.reduce((a, b) => (b.shadeRatio < a.shadeRatio ? b : a));
    says.push(
      `With the sun at ${worst.azimuthDeg}° to ${worst.azimuthDeg + 15}° from north the panel gives only ` +
        `${sayPercent(worst.shadeRatio)} of what it gives otherwise: something shades it.`,
    );
  }
  if (learnt?.panel.warning !== undefined) says.push(learnt.panel.warning.says);
  else if (learning.siteScale < POOR_SCALE && learning.days.length > 0)
    says.push(
      `At its peak, in its best hours, the panel gives ${sayPercent(learning.siteScale)} of its plate: dirt, shade, a wrong tilt ` +
        'or a smaller panel than entered, or no clear hour yet.',
    );
  return says;
}

function batterySays(learnt: LearntSite | undefined): readonly string[] {
  if (learnt === undefined || learnt.battery.health.value >= WORN_HEALTH) return [];
  const { health, capacityWh } = learnt.battery;
  return [
    `The battery holds about ${sayAmount(capacityWh.value, 'Wh')}, ${sayPercent(health.value)} of its plate.`,
  ];
}
