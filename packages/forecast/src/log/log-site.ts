import {
  batteryChemistries,
  type BatteryChemistry,
  failed,
  ok,
  type Position,
  type PowerSystem,
  type Result,
} from '@duskline/domain';
import { batteryOf } from '@duskline/energy';
import type { LogFault } from './node-log.ts';

/** The site a plain log is from. */
export interface LogSite {
  readonly position: Position;
  readonly power: PowerSystem;
  /** Cells in series were told; if not, the log's voltage may tell them. */
  readonly cellsKnown: boolean;
  readonly clearnessByMonth?: readonly number[];
}

/** Drawn while shut down where the file does not say. Assumption, no source. */
const OFF_STATE_W = 0.05;

type Fields = Readonly<Record<string, unknown>>;

/**
 * Reads `site.json`: `{ lat, lon, elevationM, panel: { powerW, tiltDeg, azimuthDeg }, battery: { chemistry, capacityWh, cells? },
 * shutDownLevel, restartLevel, clearnessByMonth?: [12], charger?, offStateDrawW? }`, levels as ratios 0–1.
 *
 * @returns the site, or the first field that is wrong, with what it should be
 */
export function parseLogSite(text: string): Result<LogSite, LogFault> {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch (error) {
    return failed({ where: 'the file', problem: `it is no JSON: ${(error as Error).message}` });
  }
  try {
    return ok(siteOf(fieldsOf(parsed, 'the file')));
  } catch (error) {
    if (error instanceof FieldFault) return failed({ where: error.where, problem: error.message });
    throw error;
  }
}

class FieldFault extends Error {
  readonly where: string;
  constructor(where: string, message: string) {
    super(message);
    this.where = where;
  }
}

function siteOf(site: Fields): LogSite {
  const panel = fieldsOf(site['panel'], 'panel');
  const battery = fieldsOf(site['battery'], 'battery');
  const chemistry = battery['chemistry'];
  if (!batteryChemistries.includes(chemistry as BatteryChemistry))
    throw new FieldFault('battery.chemistry', `must be one of ${batteryChemistries.join(', ')}`);
  const charger = site['charger'] ?? 'direct';
  if (charger !== 'mppt' && charger !== 'direct')
    throw new FieldFault('charger', 'must be mppt or direct');
  const cells = battery['cells'];
  const shutDownRatio = numberIn(site, 'shutDownLevel', [0, 0.99]);
  const restartRatio = numberIn(site, 'restartLevel', [0, 1]);
  if (restartRatio <= shutDownRatio)
    throw new FieldFault('restartLevel', 'must be above shutDownLevel');
  const clearness = clearnessOf(site['clearnessByMonth']);
  return {
    position: {
      latitudeDeg: numberIn(site, 'lat', [-90, 90]),
      longitudeDeg: numberIn(site, 'lon', [-180, 180]),
      elevationM: numberIn(site, 'elevationM', [-500, 9000], 0),
    },
    power: {
      panel: {
        ratedW: numberIn(panel, 'powerW', [1e-3, 1e6], undefined, 'panel.'),
        tiltDeg: numberIn(panel, 'tiltDeg', [0, 90], undefined, 'panel.'),
        azimuthDeg: numberIn(panel, 'azimuthDeg', [-360, 360], undefined, 'panel.'),
      },
      battery: {
        chemistry: chemistry as BatteryChemistry,
        ratedWh: numberIn(battery, 'capacityWh', [1e-3, 1e7], undefined, 'battery.'),
        seriesCells: numberIn(battery, 'cells', [1, 1000], 1, 'battery.'),
      },
      charger,
      shutDownRatio,
      restartRatio,
      offStateDrawW: numberIn(site, 'offStateDrawW', [0, 1e4], OFF_STATE_W),
      usualGapS: 3600,
    },
    cellsKnown: cells !== undefined && cells !== null,
    ...(clearness !== undefined && { clearnessByMonth: clearness }),
  };
}

function fieldsOf(value: unknown, where: string): Fields {
  if (typeof value !== 'object' || value === null || Array.isArray(value))
    throw new FieldFault(where, 'must be an object in braces');
  return value as Fields;
}

function numberIn(
  fields: Fields,
  name: string,
  [least, most]: readonly [number, number],
  otherwise?: number,
  before = '',
): number {
  const value = fields[name] ?? otherwise;
  if (typeof value !== 'number' || !(value >= least && value <= most))
    throw new FieldFault(`${before}${name}`, `must be a number from ${least} to ${most}`);
  return value;
}

function clearnessOf(value: unknown): readonly number[] | undefined {
  if (value === undefined || value === null) return undefined;
  const isGood =
    Array.isArray(value) &&
    value.length === 12 &&
    value.every((one) => typeof one === 'number' && one > 0 && one < 1);
  if (!isGood) throw new FieldFault('clearnessByMonth', 'must be twelve numbers between 0 and 1');
  return (value as readonly number[]).map((one) => Math.min(0.85, Math.max(0.05, one)));
}

/** The power system with its cells told by the log's usual voltage, where the file does not tell them. */
export function withCellsOf(site: LogSite, usualV: number | undefined): PowerSystem {
  const { power } = site;
  if (site.cellsKnown || usualV === undefined) return power;
  const seriesCells = Math.max(
    1,
    Math.round(usualV / batteryOf(power.battery.chemistry).nominalCellV),
  );
  return { ...power, battery: { ...power.battery, seriesCells } };
}
