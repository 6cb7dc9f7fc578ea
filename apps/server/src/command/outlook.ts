import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { outlookJson } from '@duskline/api';
import type { Outlook, Result } from '@duskline/domain';
import {
  type ForecastPaths,
  type LogFault,
  outlookOfLog,
  parseLogSite,
  parseNodeLog,
} from '@duskline/forecast';

const HELP = `npm run outlook -- --site site.json --readings log.csv --at 2026-01-05T00:00Z,2026-01-08T00:00Z [--json]

The outlooks a plain log would have been given as of those times: each from readings before it alone.
--site      { lat, lon, elevationM, panel: { powerW, tiltDeg, azimuthDeg }, battery: { chemistry, capacityWh, cells? },
              shutDownLevel, restartLevel, clearnessByMonth?: [12], charger?, offStateDrawW? }; levels 0–1
--readings  columns time_utc and any of charge_pct, battery_v, battery_a, panel_w, load_w, t_air; empty = not read
--at        times, in any order; @file reads them from a file, one a line
--json      one JSON object a line: the outlook as the API gives it, and quantilesDays at 0.05 steps`;

/** A fault of what the person gave, in words; no stack. */
class CommandFault extends Error {}

const STEPS = 20;

function main(): void {
  const { values } = readArguments();
  if (values.help === true) return print(HELP);
  const { site: siteFile, readings, at } = values;
  if (siteFile === undefined || readings === undefined || at === undefined)
    throw new CommandFault(`--site, --readings and --at are needed.\n\n${HELP}`);
  const site = good(siteFile, parseLogSite(readText(siteFile)));
  const log = good(readings, parseNodeLog(readText(readings)));
  const times = timesOf(at);
  const outlookAt = outlookOfLog(site, log);
  const lines = new Map<number, string>();
  for (const atMs of [...new Set(times)].sort((a, b) => a - b)) {
    const paths = outlookAt(atMs);
    lines.set(atMs, values.json === true ? jsonLine(paths) : sentence(paths.outlook));
  }
  for (const atMs of times) print(lines.get(atMs)!);
}

function readArguments() {
  try {
    return parseArgs({
      options: {
        site: { type: 'string' },
        readings: { type: 'string' },
        at: { type: 'string' },
        json: { type: 'boolean' },
        help: { type: 'boolean' },
      },
    });
  } catch (error) {
    throw new CommandFault(`${(error as Error).message}\n\n${HELP}`);
  }
}

function readText(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new CommandFault(`${file} cannot be read: ${(error as Error).message}`);
  }
}

function good<T>(file: string, result: Result<T, LogFault>): T {
  if (result.ok) return result.value;
  throw new CommandFault(`${file}, ${result.fault.where}: ${result.fault.problem}`);
}

function timesOf(at: string): readonly number[] {
  const words = (at.startsWith('@') ? readText(at.slice(1)) : at)
    .split(/[\s,]+/)
    .filter((word) => word !== '');
  if (words.length === 0) throw new CommandFault('--at names no time.');
  return words.map((word) => {
    const atMs = Date.parse(/(Z|[+-]\d{2}:?\d{2})$/i.test(word) ? word : `${word}Z`);
    if (Number.isNaN(atMs))
      throw new CommandFault(`--at: “${word}” is no time such as 2026-01-05T00:00Z.`);
    return atMs;
  });
}

function jsonLine({ outlook, daysToEmpty, daysToReturn }: ForecastPaths): string {
  return JSON.stringify({
    ...outlookJson(outlook),
    quantilesDays: quantiles(daysToEmpty),
    ...(daysToReturn !== undefined && { backQuantilesDays: quantiles(daysToReturn) }),
  });
}

/** By share of the paths, '0.05' … '0.95': those within the horizon; null when there are none. */
function quantiles(days: Float64Array | undefined): Readonly<Record<string, number>> | null {
  if (days === undefined || days.length === 0) return null;
  const found: Record<string, number> = {};
  for (let step = 1; step < STEPS; step++) {
    const day = days[Math.ceil((step / STEPS) * days.length - 1e-9) - 1]!;
    if (Number.isFinite(day)) found[(step / STEPS).toFixed(2)] = Math.round(day * 1e4) / 1e4;
  }
  return Object.keys(found).length === 0 ? null : found;
}

function sentence(outlook: Outlook): string {
  const at = new Date(outlook.issuedAtMs).toISOString();
  if (outlook.kind === 'insufficient-data') return `${at}  no outlook: ${outlook.missing}`;
  if (outlook.whileDark === true) {
    const { back } = outlook as Extract<Outlook, { kind: 'empties-in' }>;
    if (back === undefined) return `${at}  dark; nothing explains that it is not back`;
    if (back.kind === 'out-of-reach') return `${at}  dark; the restart level is out of reach`;
    const say = (ms: number | undefined): string =>
      ms === undefined ? 'beyond the horizon' : new Date(ms).toISOString();
    const { p10Ms, p50Ms, p90Ms } = back.window;
    return `${at}  dark; back P10 ${say(p10Ms)}, P50 ${say(p50Ms)}, P90 ${say(p90Ms)}`;
  }
  const chance = `dark within 7 days: ${(100 * outlook.darkWithin7DaysProbability).toFixed(0)} %`;
  if (outlook.kind === 'beyond-horizon')
    return `${at}  not empty within ${outlook.horizonDays} days; ${chance}`;
  const days = (value: number | undefined): string =>
    value === undefined ? `> ${outlook.horizonDays}` : value.toFixed(1);
  const { p10Days, p50Days, p90Days } = outlook;
  return `${at}  empty in P10 ${days(p10Days)}, P50 ${days(p50Days)}, P90 ${days(p90Days)} days; ${chance}`;
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}

try {
  main();
} catch (error) {
  if (!(error instanceof CommandFault)) throw error;
  process.stderr.write(`${error.message}\n`);
  process.exitCode = 2;
}
