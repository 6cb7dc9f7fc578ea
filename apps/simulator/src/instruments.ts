import { metric as entryOf, type MetricKey } from '@duskline/domain';
import type { BatteryFlow } from './battery-truth.ts';
import type { SimulatedSite } from './fleet.ts';
import type { Mishap } from './mishaps/mishap.ts';
import { nominalV, openCircuitV } from './open-circuit.ts';
import type { Random } from './random.ts';
import type { Surroundings } from './surroundings.ts';

/** The truth that a node's instruments look at. */
export interface Truth extends Surroundings {
  readonly site: SimulatedSite;
  readonly flow: BatteryFlow;
  /** Charge 0–1. */
  readonly chargeRatio: number;
  readonly batteryC: number;
  readonly rainMm: number;
  readonly waterM: number;
  readonly images: number;
  readonly uptimeS: number;
  readonly mishap: Mishap;
}

const GAUGE_NOISE = 0.004;
/** Of a cell of one ampere-hour: common practice, no source. */
const CELL_OHM_AH = 0.1;

/** What the instruments say, each with its own noise and its own number of decimals. */
export function readInstruments(truth: Truth, random: Random): ReadonlyMap<MetricKey, number> {
  const { sky, light, flow, chargeRatio, batteryC } = truth;
  const values = new Map<MetricKey, number>();
  const put = (metric: MetricKey, value: number, decimals: number) => {
    const [low, high] = entryOf(metric).span;
    values.set(metric, Number(Math.min(high, Math.max(low, value)).toFixed(decimals)));
  };
  const noise = (size: number) => size * random.normal();

  const { terminalV, currentA } = battery(truth);
  put('batt_v', terminalV + noise(0.004), 3);
  put('batt_i', currentA + noise(0.001), 4);
  put('batt_temp', batteryC + noise(0.05), 1);
  if (truth.site.gauge) put('charge', (chargeRatio + noise(GAUGE_NOISE)) * 100, 1);
  const panelV = panelVolts(truth);
  put('panel_v', panelV + (panelV > 0 ? noise(0.05) : 0), 2);
  put('panel_w', Math.max(0, flow.harvestW + (flow.harvestW > 0.05 ? noise(0.02) : 0)), 2);
  put('load_w', Math.max(0, flow.servedW + noise(0.01)), 3);
  put('charge_stage', entryOf('charge_stage').codes?.indexOf(flow.stage) ?? 0, 0);
  put('air_temp', sky.airC + noise(0.08 * truth.mishap.airNoiseTimes), 1);
  put('box_temp', sky.airC + 3 + light.planeWm2 / 90 + noise(0.1), 1);
  put('signal', signalDbm(truth) + noise(1.2), 0);
  put('uptime', truth.uptimeS, 0);
  readSensor(truth, put, noise);
  if (truth.site.housekeeping === true) readHousekeeping(truth, put, noise);
  return values;
}

/** Without a current to give, a panel stands near its open voltage, a fifth above that of its best power (from memory). */
function panelVolts({ light, mishap }: Truth): number {
  if (!light.sunUp || !mishap.panelConnected) return 0;
  const workingV = 15 + 3 * Math.min(1, light.planeWm2 / 300);
  return mishap.chargerWorks ? workingV : workingV * 1.2;
}

/** What a node that looks after itself tells beside its measurements. */
function readHousekeeping(
  { mishap, sky, light }: Truth,
  put: (metric: MetricKey, value: number, decimals: number) => void,
  noise: (size: number) => number,
): void {
  // Desiccant and vent keep a tight box well below the air outside; its sun dries it further.
  const dryRh = 48 + 0.25 * (sky.relativeHumidityPct - 75) - light.planeWm2 / 60;
  put('box_rh', dryRh + (99 - dryRh) * mishap.boxWet + noise(1), 1);
  put('disk_free', mishap.cardFreeBytes, 0);
  put('fs_ro', mishap.cardReadOnly ? 1 : 0, 0);
  put('box_open', mishap.boxOpen ? 1 : 0, 0);
  put('tilt_move', mishap.mastMoved ? 1 : 0, 0);
  put('clock_src', mishap.clockUnset ? 0 : 1, 0);
}

function battery({ site, flow, chargeRatio, mishap }: Truth) {
  const { chemistry, seriesCells, ratedWh } = site.power.battery;
  const middleV = nominalV(chemistry, seriesCells);
  const currentA = flow.netW / middleV;
  const newOhm = (CELL_OHM_AH * seriesCells) / (ratedWh / middleV);
  const resistanceOhm = newOhm * mishap.resistanceTimes;
  const restV = openCircuitV(chemistry, seriesCells, chargeRatio);
  return { terminalV: restV + currentA * resistanceOhm, currentA };
}

/** A long link over moorland: weaker up the valley and in heavy rain. Invented. */
const signalDbm = ({ site, sky, mishap }: Truth): number =>
  -84 - site.position.elevationM / 45 - Math.min(6, sky.rainMmPerHour * 1.5) - mishap.signalLossDb;

function readSensor(
  truth: Truth,
  put: (metric: MetricKey, value: number, decimals: number) => void,
  noise: (size: number) => number,
): void {
  const { site, sky } = truth;
  switch (site.sensor) {
    case 'rain':
      put('rain', truth.rainMm, 2);
      return;
    case 'water':
      put('water_level', truth.waterM + noise(0.003), 3);
      put('water_temp', Math.max(0.2, 6 + (sky.airC - 6) * 0.4 + noise(0.05)), 1);
      return;
    case 'wind': {
      const speedMs = Math.max(0, sky.windMs + noise(0.4));
      put('wind_speed', speedMs, 1);
      put('wind_gust', speedMs * 1.5 + Math.abs(noise(0.8)), 1);
      return;
    }
    case 'soil':
      put('soil_temp', 7 + (sky.airC - 7) * 0.3 + noise(0.05), 1);
      put('rel_hum', Math.min(100, sky.relativeHumidityPct + noise(0.8)), 0);
      return;
    case 'camera':
      put('image_n', truth.images, 0);
      put('rel_hum', Math.min(100, sky.relativeHumidityPct + noise(0.8)), 0);
      return;
  }
}
