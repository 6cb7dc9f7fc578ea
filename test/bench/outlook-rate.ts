import { DAY_MS, HOUR_MS, type HourlyHistory, type PowerSystem } from '@duskline/domain';
import {
  advanceBattery,
  batteryPackOf,
  referenceHourlyWh,
  startBatteryWalk,
} from '@duskline/energy';
import { type ForecastInputs, forecastNode, whatWouldHelp } from '@duskline/forecast';
import { fileURLToPath } from 'node:url';

const PAST_DAYS = 60;
/** As far ahead as the server looks (`forecastNode` without a horizon), and twice as far. */
export const SERVER_HORIZON_DAYS = 30;
const FAR_HORIZON_DAYS = 60;

const position = { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 200 };
const power: PowerSystem = {
  panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
  battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.1,
  usualGapS: 30,
};

/** The inputs of a node with sixty days of hourly past; its weather is made up from its number. */
export function benchNode(node: number, horizonDays: number): ForecastInputs {
  const nowMs = Date.UTC(2026, 10, 25);
  const hours = PAST_DAYS * 24;
  const startMs = nowMs - PAST_DAYS * DAY_MS;
  const clear = referenceHourlyWh({ position, panel: power.panel, startMs, hours });
  const pack = batteryPackOf(power);
  const walk = startBatteryWalk(0.8);
  const panelW: number[] = [];
  const chargeRatio: number[] = [];
  const loadW: number[] = [];
  for (let hour = 0; hour < hours; hour++) {
    const day = Math.floor(hour / 24);
    walk.harvestW = clear[hour]! * (0.35 + 0.3 * Math.sin(day * 1.7 + node));
    walk.loadW = 0.9 + 0.1 * Math.sin((hour / 24) * 2 * Math.PI);
    walk.batteryC = 8;
    advanceBattery(pack, walk);
    panelW.push(walk.harvestW - walk.spilledWh);
    loadW.push(walk.loadW);
    chargeRatio.push(walk.chargeRatio);
  }
  const even = (value: number) => new Array<number>(hours).fill(value);
  const history: HourlyHistory = {
    startMs,
    panelW,
    loadW,
    chargeRatio,
    batteryV: even(13.1),
    batteryA: even(0),
    batteryC: even(8),
    airC: even(7),
  };
  const ratio = walk.chargeRatio;
  return {
    nowMs,
    seed: node,
    position,
    power,
    history,
    charge: {
      ratio,
      lowRatio: Math.max(0, ratio - 0.05),
      highRatio: Math.min(1, ratio + 0.05),
      method: 'gauge',
      observedAtMs: nowMs - HOUR_MS / 60,
    },
    horizonDays,
  };
}

export interface Spent {
  readonly medianMs: number;
  readonly maxMs: number;
}

/** Processor time of each call, in ms: what neighbours on the same machine do is not counted. */
export function spentMs(runs: number, call: (run: number) => void): Spent {
  const times: number[] = [];
  for (let run = 0; run < runs; run++) {
    const before = process.cpuUsage();
    call(run);
    const { user, system } = process.cpuUsage(before);
    times.push((user + system) / 1000);
  }
  times.sort((a, b) => a - b);
  return { medianMs: times[Math.floor(runs / 2)] ?? 0, maxMs: times.at(-1) ?? 0 };
}

/** One outlook: 500 paths by the hour, learnt from 60 days (median of the runs, the compiler's share left out). */
export function measureOutlook(runs: number, horizonDays = SERVER_HORIZON_DAYS): Spent {
  const nodes = Array.from({ length: 10 }, (_, node) => benchNode(node, horizonDays));
  for (const node of nodes) for (let seed = 0; seed < 3; seed++) forecastNode({ ...node, seed });
  return spentMs(runs, (run) => {
    const outlook = forecastNode({ ...nodes[run % nodes.length]!, seed: run });
    if (outlook.kind === 'insufficient-data') throw new Error('the bench node has too little data');
  });
}

/** `whatWouldHelp`: the outlook's walk and one more for each of some six changes. */
export function measureWhatWouldHelp(runs: number): Spent {
  const nodes = Array.from({ length: 5 }, (_, node) => benchNode(node, SERVER_HORIZON_DAYS));
  return spentMs(runs, (run) => {
    whatWouldHelp({ ...nodes[run % nodes.length]!, seed: run });
  });
}

/** A thousand nodes, one outlook each, one after the other: seconds of one core. */
export function measureThousand(horizonDays = SERVER_HORIZON_DAYS): number {
  const nodes = Array.from({ length: 20 }, (_, node) => benchNode(node, horizonDays));
  const before = process.cpuUsage();
  for (let node = 0; node < 1000; node++)
    forecastNode({ ...nodes[node % nodes.length]!, seed: node });
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

/** Milliseconds of a fixed sum: what the machine does at this moment, to read the other figures by. */
export function machineMs(): number {
  return spentMs(9, () => {
    let sum = 0;
    for (let i = 1; i < 5_000_000; i++) sum += 1 / i;
    if (!(sum > 0)) throw new Error('no sum');
  }).medianMs;
}

export function printOutlookRates(): void {
  const show = ({ medianMs, maxMs }: Spent): string =>
    `${medianMs.toFixed(1)} ms of processor time (median; slowest ${maxMs.toFixed(1)} ms)`;
  console.log(`this machine now: ${machineMs().toFixed(1)} ms for five million divisions`);
  for (const days of [SERVER_HORIZON_DAYS, FAR_HORIZON_DAYS])
    console.log(
      `outlook, 500 paths over ${days} days, ${PAST_DAYS} days of past: ${show(measureOutlook(60, days))}; 1,000 nodes: ${measureThousand(days).toFixed(1)} s of one core`,
    );
  console.log(`what would help, beside it: ${show(measureWhatWouldHelp(15))}`);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) printOutlookRates();
