import { DAY_MS, HOUR_MS, type MetricKey } from '@duskline/domain';
import type { Drill, SimulatedSite } from './fleet.ts';
import { nominalV, openCircuitV } from './open-circuit.ts';
import { seededRandom, seedOf, type Random } from './random.ts';
import { lightOnPanel, type BeamKept, type LightOnPanel } from './sky-on-panel.ts';
import type { SkyNow, Weather } from './weather.ts';

/** What the node did in one step. */
export type NodeEvent =
  | { readonly kind: 'hello'; readonly atMs: number }
  | { readonly kind: 'farewell'; readonly atMs: number; readonly chargeRatio: number }
  | {
      readonly kind: 'sample';
      readonly atMs: number;
      readonly values: ReadonlyMap<MetricKey, number>;
    };

export interface SimulatedNode {
  readonly site: SimulatedSite;
  /** Moves the node on to `atMs`; steps are at most a quarter of an hour. */
  readonly stepTo: (atMs: number) => readonly NodeEvent[];
  readonly isUp: () => boolean;
  readonly chargeRatio: () => number;
}

export interface NodeHistory {
  readonly startMs: number;
  /** The moment the drills are about: what happened "hours ago" is counted from here. */
  readonly drillMs: number;
  /** The drills that need a certain end are tuned by these two. */
  readonly tuning: Tuning;
}

export interface Tuning {
  /** Multiplies the load. */
  readonly burden: number;
  /** Multiplies what the panel gives. */
  readonly light: number;
  /** When the connector failed, where that is the drill. */
  readonly failedDaysAgo?: number;
}

/** The battery ages, cools and leaks; the charger loses a little: typical figures, no source. */
const CHARGE_EFFICIENCY = 0.95;
const BATTERY_EFFICIENCY = 0.97;
const SELF_DISCHARGE_PER_DAY = 0.001;
const GAUGE_NOISE = 0.004;

/** One pretend node: panel, charger, battery, board and sensors under one sky, with the truth kept to itself. */
export function createSimulatedNode(
  site: SimulatedSite,
  siteIndex: number,
  weather: Weather,
  history: NodeHistory,
): SimulatedNode {
  const random = seededRandom(seedOf(site.id));
  const { power, drill } = site;
  const capacityWh =
    power.battery.ratedWh * (drill?.kind === 'weak-battery' ? drill.capacityShare : 0.96);
  const lithium = !power.battery.chemistry.startsWith('lead');
  let storedWh = capacityWh * 0.85;
  let up = true;
  let atMs = history.startMs;
  let bootedAtMs = history.startMs;
  let loadMood = 0;
  let batteryC = 8;
  let rainMm = 0;
  let water = 0.6;
  let images = 0;
  let shown = storedWh / capacityWh;

  function step(toMs: number): readonly NodeEvent[] {
    const hours = (toMs - atMs) / HOUR_MS;
    atMs = toMs;
    const sky = weather.at(atMs, siteIndex, site.position.elevationM);
    batteryC += (sky.airC + 2 - batteryC) * Math.min(1, hours / 4);
    const light = lightOnPanel(
      atMs,
      { position: site.position, panel: power.panel },
      sky.cloud,
      beamKept(drill, atMs, history.drillMs),
    );
    const panelW = history.tuning.light * panelPower(light, sky, site, { drill, atMs, history });
    loadMood =
      loadMood * Math.exp(-hours / 30) + 0.05 * Math.sqrt(Math.min(1, hours)) * random.normal();
    const hourOfDay = (atMs / HOUR_MS) % 24;
    const loadW = up
      ? site.loadW *
        history.tuning.burden *
        Math.exp(loadMood) *
        (1 + 0.18 * Math.sin((2 * Math.PI * (hourOfDay - 7)) / 24))
      : power.offStateDrawW;

    const fullWh =
      capacityWh *
      (lithium
        ? Math.min(1, Math.max(0.6, 0.8 + batteryC * 0.008))
        : Math.min(1, Math.max(0.6, 1 - (25 - batteryC) * 0.01)));
    const charge = Math.min(1, storedWh / fullWh);
    const blocked = lithium && batteryC < 0;
    const acceptW = blocked ? 0 : fullWh * 0.5 * Math.min(1, (1 - charge) / 0.12);
    const offeredW = panelW * CHARGE_EFFICIENCY;
    const takenW = Math.min(offeredW, loadW + acceptW);
    const netW = takenW - loadW;
    storedWh = Math.min(
      fullWh,
      Math.max(
        0,
        storedWh +
          hours * (netW > 0 ? netW * BATTERY_EFFICIENCY : netW) -
          storedWh * SELF_DISCHARGE_PER_DAY * (hours / 24),
      ),
    );

    rainMm += sky.rainMmPerHour * hours;
    water += hours * (sky.rainMmPerHour * 0.03 - (water - 0.45) * 0.02);
    const ratio = storedWh / fullWh;
    shown = ratio;
    const events: NodeEvent[] = [];
    if (up && ratio <= power.shutDownRatio) {
      up = false;
      events.push({ kind: 'farewell', atMs, chargeRatio: ratio });
    } else if (!up && ratio >= power.restartRatio) {
      up = true;
      bootedAtMs = atMs;
      events.push({ kind: 'hello', atMs });
    }
    const failed =
      drill?.kind === 'board-failed' && atMs >= history.drillMs - drill.hoursAgo * HOUR_MS;
    if (failed) return [];
    if (up) {
      images += sky.cloud < 0.7 && random.uniform() < 0.1 ? 1 : 0;
      events.push({
        kind: 'sample',
        atMs,
        values: read({
          site,
          sky,
          light,
          random,
          panelW: takenW / CHARGE_EFFICIENCY,
          offered: panelW > 0,
          loadW,
          netW,
          ratio,
          batteryC,
          rainMm,
          water,
          images,
          uptimeS: (atMs - bootedAtMs) / 1000,
        }),
      });
      rainMm = 0;
    }
    return events;
  }

  return {
    site,
    stepTo(toMs) {
      const events: NodeEvent[] = [];
      while (atMs < toMs) events.push(...step(Math.min(toMs, atMs + HOUR_MS / 4)));
      return events;
    },
    isUp: () => up,
    chargeRatio: () => shown,
  };
}

function panelPower(
  light: LightOnPanel,
  sky: SkyNow,
  { power }: SimulatedSite,
  {
    drill,
    atMs,
    history,
  }: { readonly drill: Drill | undefined; readonly atMs: number; readonly history: NodeHistory },
): number {
  const failedDaysAgo =
    drill?.kind === 'connector-failed'
      ? (history.tuning.failedDaysAgo ?? drill.daysAgo)
      : undefined;
  if (failedDaysAgo !== undefined && atMs >= history.drillMs - failedDaysAgo * DAY_MS) return 0;
  const cellC = sky.airC + light.planeWm2 / (25 + 6.84 * sky.windMs);
  // 0.86: wiring, mismatch and the dirt of a moor.
  return Math.max(
    0,
    power.panel.ratedW * 0.86 * (light.planeWm2 / 1000) * (1 - 0.004 * (cellC - 25)),
  );
}

function beamKept(drill: Drill | undefined, atMs: number, drillMs: number): BeamKept {
  if (drill?.kind !== 'leaves') return () => 1;
  const grown = Math.min(1, Math.max(0, (atMs - (drillMs - 35 * DAY_MS)) / (30 * DAY_MS)));
  return (azimuthDeg) =>
    azimuthDeg >= drill.fromAzimuthDeg && azimuthDeg <= drill.toAzimuthDeg
      ? 1 - grown * drill.beamLost
      : 1;
}

interface Instruments {
  readonly site: SimulatedSite;
  readonly sky: SkyNow;
  readonly light: LightOnPanel;
  readonly random: Random;
  readonly panelW: number;
  readonly offered: boolean;
  readonly loadW: number;
  readonly netW: number;
  readonly ratio: number;
  readonly batteryC: number;
  readonly rainMm: number;
  readonly water: number;
  readonly images: number;
  readonly uptimeS: number;
}

function read(now: Instruments): ReadonlyMap<MetricKey, number> {
  const { site, sky, light, random } = now;
  const { battery } = site.power;
  const batteryV = nominalV(battery.chemistry, battery.seriesCells);
  const currentA = now.netW / batteryV;
  // Around a tenth of a volt at a fortieth of the capacity an hour, as small packs have.
  const resistanceOhm = (0.35 * batteryV) / battery.ratedWh;
  const terminalV =
    openCircuitV(battery.chemistry, battery.seriesCells, now.ratio) + currentA * resistanceOhm * 4;
  const noise = (size: number) => size * random.normal();
  const values = new Map<MetricKey, number>();
  const put = (metric: MetricKey, value: number, decimals: number) => {
    values.set(metric, Number(value.toFixed(decimals)));
  };
  put('batt_v', terminalV + noise(0.004), 3);
  put('batt_i', currentA + noise(0.001), 4);
  put('batt_temp', now.batteryC + noise(0.05), 1);
  if (site.gauge)
    put('charge', Math.min(100, Math.max(0, (now.ratio + noise(GAUGE_NOISE)) * 100)), 1);
  put(
    'panel_v',
    light.sunUp
      ? Math.max(0, now.offered ? 15 + 3 * Math.min(1, light.planeWm2 / 300) + noise(0.05) : 0)
      : 0,
    2,
  );
  put('panel_w', Math.max(0, now.panelW + (now.panelW > 0.05 ? noise(0.02) : 0)), 2);
  put('load_w', Math.max(0, now.loadW + noise(0.01)), 3);
  put('air_temp', sky.airC + noise(0.08), 1);
  put('box_temp', sky.airC + 3 + light.planeWm2 / 90 + noise(0.1), 1);
  put('signal', -86 - site.position.elevationM / 60 - sky.rainMmPerHour * 1.5 + noise(1.2), 0);
  put('uptime', now.uptimeS, 0);
  switch (site.sensor) {
    case 'rain':
      put('rain', now.rainMm, 2);
      break;
    case 'water':
      put('water_level', now.water + noise(0.003), 3);
      put('water_temp', Math.max(0.2, 6 + (sky.airC - 6) * 0.4 + noise(0.05)), 1);
      break;
    case 'wind':
      put('wind_speed', Math.max(0, sky.windMs + noise(0.4)), 1);
      put('wind_gust', Math.max(0, sky.windMs * 1.5 + Math.abs(noise(0.8))), 1);
      break;
    case 'soil':
      put('soil_temp', 7 + (sky.airC - 7) * 0.3 + noise(0.05), 1);
      put('rel_hum', Math.min(100, sky.relativeHumidityPct + noise(0.8)), 0);
      break;
    case 'camera':
      put('image_n', now.images, 0);
      put('rel_hum', Math.min(100, sky.relativeHumidityPct + noise(0.8)), 0);
      break;
  }
  return values;
}
