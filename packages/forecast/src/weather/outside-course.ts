import { DAY_MS, type Position } from '@duskline/domain';
import { laggedBatteryC, solarDayStartMs } from '@duskline/energy';
import type { YieldDay } from '../learn/yield-days.ts';
import type { ClearnessYield } from './clearness-yield.ts';
import { outsideAnswer, pairsOf } from './outside-error.ts';
import type { OutsideForecast } from './outside-forecast.ts';
import type { OutsideCourse } from './outside-weather.ts';
import { type CloudlessHours, cloudlessHours, outsideYield } from './outside-yield.ts';

/** An outside forecast, and the ones before it that tell how right it is here. */
export interface OutsideFacts {
  readonly latest: OutsideForecast;
  /** Any order; those of which the days are past teach. */
  readonly past?: readonly OutsideForecast[];
}

const SLOTS = 24;

/**
 * Prepares an outside forecast: its days as yield of this panel, and how far it has proved right here.
 *
 * @param at.firstRow  number of rows in the table of temperatures: rows of the forecast follow it
 * @returns undefined when it does not foretell the day the walk starts in; `temperatureC` holds rows of 24 h for the days on
 *          which air temperature was foretold
 */
export function outsideCourse(
  outside: OutsideFacts,
  at: {
    readonly position: Position;
    readonly startMs: number;
    readonly yields: ClearnessYield;
    readonly days: readonly YieldDay[];
    readonly panelRatio: number;
    readonly firstRow: number;
  },
): { readonly course: OutsideCourse; readonly temperatureC: Float32Array } | undefined {
  const zeroMs = solarDayStartMs(at.startMs, at.position.longitudeDeg);
  const dayOf = (ms: number): number => Math.floor((ms - zeroMs) / DAY_MS);
  const cloudless: CloudlessHours = cloudlessHours(at.position);
  const foretold = outsideYield(outside.latest, { ...at, cloudless });
  let reach = 0;
  while (foretold.length > 0 && foretold.every((member) => member.has(reach))) reach++;
  if (reach === 0) return undefined;

  const pairs = (outside.past ?? []).flatMap((past) =>
    pairsOf(outsideYield(past, { ...at, cloudless }), dayOf(past.issuedAtMs), at.days),
  );
  const { rows, rowOf } = temperatureRows(outside.latest, { zeroMs, reach });
  return {
    temperatureC: Float32Array.from(rows),
    course: {
      members: foretold.map((member) =>
        Float64Array.from({ length: reach }, (_, day) => member.get(day)!),
      ),
      answer: outsideAnswer(pairs, at.panelRatio),
      ageDays: Math.max(0, -dayOf(outside.latest.issuedAtMs)),
      temperatureRow: (day) => {
        const row = rowOf.get(day);
        return row === undefined ? undefined : at.firstRow + row;
      },
    },
  };
}

/** Battery temperature by solar day and hour: foretold air, mean over the members, through the lag of the box. */
function temperatureRows(
  { members, startMs, stepMs }: OutsideForecast,
  at: { readonly zeroMs: number; readonly reach: number },
): { readonly rows: readonly number[]; readonly rowOf: ReadonlyMap<number, number> } {
  const rows: number[] = [];
  const rowOf = new Map<number, number>();
  let batteryC: number | undefined;
  for (let day = 0; day < at.reach; day++) {
    const hours: number[] = [];
    for (let slot = 0; slot < SLOTS; slot++) {
      const atMs = at.zeroMs + (day + (slot + 0.5) / SLOTS) * DAY_MS;
      const step = Math.floor((atMs - startMs) / stepMs);
      const values = members.flatMap((member) => member.airC?.[step] ?? []);
      if (values.length === 0) continue;
      const airC = values.reduce((sum, value) => sum + value, 0) / values.length;
      batteryC = batteryC === undefined ? airC : laggedBatteryC({ batteryC, airC, hours: 1 });
      hours.push(batteryC);
    }
    // Of today the hours gone by are missing: they are not walked.
    if (hours.length === 0) continue;
    rowOf.set(day, rows.length / SLOTS);
    rows.push(...new Array<number>(SLOTS - hours.length).fill(hours[0]!), ...hours);
  }
  return { rows, rowOf };
}
