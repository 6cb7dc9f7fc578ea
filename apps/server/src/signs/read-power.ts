import {
  readDays,
  readPowerSigns,
  solarDayNumber,
  type PowerHours,
  type PowerSeen,
} from '@duskline/diagnosis';
import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { batteryOf, referenceHourlyWh, sunPosition } from '@duskline/energy';
import type { Store, YieldDay } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';
import { learntSiteOf } from '../read-lessons.ts';

const LOOK_BACK_MS = 35 * DAY_MS;
/** Yields of days before these are kept already. */
const YIELDS_BACK = 5;

export interface PowerReading {
  readonly power: PowerSeen;
  readonly yields: readonly YieldDay[];
  readonly cycles: { readonly capacityCycles?: number };
}

/**
 * Reads the last five weeks of a node's power and lays what should have come in beside it.
 *
 * @returns undefined when nothing was ever heard of it
 */
export async function readPower(
  store: Store,
  facts: NodeSituation,
): Promise<PowerReading | undefined> {
  const { node, site, lastObservedAtMs } = facts;
  if (lastObservedAtMs === undefined) return undefined;
  const toMs = Math.min(facts.nowMs, lastObservedAtMs + HOUR_MS);
  const startMs = Math.floor((toMs - LOOK_BACK_MS) / HOUR_MS) * HOUR_MS;
  const { longitudeDeg, latitudeDeg } = site.position;
  const firstDay = solarDayNumber(startMs, longitudeDeg);
  const [history, beside, peerYield, record] = await Promise.all([
    store.rollups.hourly(node.id, startMs, toMs),
    store.signs.hours(node.id, ['panel_v', 'rain', 'box_rh'], { fromMs: startMs, toMs }),
    store.signs.peerYields(node.id, firstDay),
    store.learnt.of(node.id),
  ]);
  const count = history.panelW.length;
  const learnt = record === undefined ? undefined : learntSiteOf(record.body);
  const hours: PowerHours = {
    ...history,
    panelV: beside.get('panel_v') ?? [],
    rainMm: beside.get('rain') ?? [],
    boxRhPercent: beside.get('box_rh') ?? [],
    expectedW: [
      ...referenceHourlyWh({
        position: site.position,
        panel: node.power.panel,
        startMs,
        hours: count,
      }),
    ],
    sunAzimuthDeg: Array.from(
      { length: count },
      (_, i) => sunPosition(startMs + (i + 0.5) * HOUR_MS, latitudeDeg, longitudeDeg).azimuthDeg,
    ),
    chargeLimitsC: batteryOf(node.power.battery.chemistry).chargeTemperatureC,
    longitudeDeg,
    peerYield,
  };
  const isLearnt = learnt !== undefined && learnt.battery.health.sureness !== 'assumed';
  const power = readPowerSigns(hours, {
    nowMs: facts.nowMs,
    site,
    node,
    ...(isLearnt ? { capacityShare: learnt.battery.health.value } : {}),
  });
  const today = solarDayNumber(facts.nowMs, longitudeDeg);
  return {
    power,
    yields: readDays(hours).flatMap(({ day, yieldIndex }) =>
      yieldIndex !== undefined && day >= today - YIELDS_BACK - 30 && day < today
        ? [{ day, ratio: yieldIndex }]
        : [],
    ),
    cycles: isLearnt ? { capacityCycles: learnt.battery.swings } : {},
  };
}
