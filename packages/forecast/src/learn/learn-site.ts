import {
  DAY_MS,
  HOUR_MS,
  type HourlyHistory,
  type Position,
  type PowerSystem,
} from '@duskline/domain';
import { type BatteryPack, solarDayStartMs } from '@duskline/energy';
import { ASSUMED_BATTERY_C, type BatteryHours, batteryHours } from './battery-hours.ts';
import { darkSpells, yieldOfSpells } from './dark-spells.ts';
import { dayShapes } from './day-shape.ts';
import { type HarvestHours, harvestHours } from './harvest-hours.ts';
import { flagHours } from './hour-flags.ts';
import type { LearntSite, ShadeBin } from './learnt-site.ts';
import { type LoadProfile, loadProfile } from './load-profile.ts';
import { knownLoad } from './known-load.ts';
import { type PastHours, pastHours } from './past-hours.ts';
import { panelAsLearnt } from './panel-orientation.ts';
import { rememberedDays } from './remembered-days.ts';
import { applyShade, mergeShade, shadeBins } from './shade.ts';
import { siteScale } from './site-scale.ts';
import { type YieldDay, yieldDays } from './yield-days.ts';

/** All that was learnt of a site from its own past. */
export interface SiteLearning {
  readonly load: LoadProfile;
  /** Days whose yield is known or bounded, ascending; may be empty. */
  readonly days: readonly YieldDay[];
  /** First solar day of the last weeks heard; earlier ones are the same season of other years. */
  readonly recentFromDay: number;
  /** Envelope of the panel against its nameplate. */
  readonly siteScale: number;
  /** The panel as it really stands. */
  readonly panel: PowerSystem['panel'];
  readonly shade: readonly ShadeBin[];
  /** Battery temperature, °C, by pool day and hour of the solar day: `[index · 24 + slot]`. */
  readonly temperatureC: Float32Array;
  /** How the light was spread over the day, mean 1, laid out as the temperatures. */
  readonly dayShape: Float32Array;
  readonly harvestFrom: HarvestHours['from'];
  readonly temperatureFrom: BatteryHours['from'];
  /** Hours of the past with what they were taken for: what else is learnt rests on them. */
  readonly past: PastHours;
  readonly harvest: HarvestHours;
  readonly flags: Uint8Array;
}

export interface LearnInputs {
  readonly history: HourlyHistory;
  readonly position: Position;
  readonly power: PowerSystem;
  readonly pack: BatteryPack;
  /** Where the forecast starts; days are counted from its solar day. */
  readonly startMs: number;
  /** Nothing observed from here on is used. */
  readonly untilMs: number;
  /** What earlier looks have left; left out: the history alone. */
  readonly learnt?: LearntSite;
}

/**
 * Learns load, yields, scale, shade and temperatures from the hourly past.
 *
 * @returns undefined when nothing tells the load: no load reading, no night with charge readings, and none known from before
 */
export function learnSite(inputs: LearnInputs): SiteLearning | undefined {
  const { history, position, power, pack, startMs, untilMs, learnt } = inputs;
  const panel = panelAsLearnt(power.panel, learnt?.panel.orientation);
  const past = pastHours({ history, position, panel, startMs, untilMs });
  const load = loadProfile(past, pack.capacityWh, learnt?.load.sinceMs) ?? knownLoad(learnt?.load);
  if (load === undefined) return undefined;

  const hours = batteryHours(history, past.count);
  const harvest = harvestHours(past, load, pack);
  const { seriesCells } = power.battery;
  const flags = flagHours(past, harvest, { hours, facts: pack.facts, seriesCells });
  const facts = { flags, ratedW: panel.ratedW };
  const sincePanelMs = learnt?.panel.sinceMs;
  const newPanel = hoursSince(past, sincePanelMs);
  const shade = mergeShade(
    learnt?.panel.shade ?? [],
    shadeBins(newPanel, harvest, { ...facts, position }),
  );
  applyShade(past.referenceWh, { startMs: history.startMs, position, shade });
  const scale = siteScale(newPanel, harvest, facts);
  const batteryC = (hour: number): number | undefined =>
    hours.known[hour] === 1 ? hours.temperatureC[hour] : undefined;
  const seen = merged(
    yieldDays(past, harvest, facts),
    yieldOfSpells(past, darkSpells(past, pack, batteryC)),
  );
  const asOfNow =
    sincePanelMs === undefined
      ? seen
      : rescaled(seen, past, {
          sinceMs: sincePanelMs,
          factor: scale / siteScale(hoursUntil(past, sincePanelMs), harvest, facts),
        });
  const todayMs = solarDayStartMs(startMs, position.longitudeDeg);
  const days = merged(asOfNow, rememberedDays(learnt?.weather.days ?? [], todayMs));
  const recent = past.spans.at(-1);
  return {
    load,
    days,
    recentFromDay: recent === undefined ? 0 : past.day[recent.from]!,
    siteScale: scale,
    panel,
    shade,
    temperatureC: temperaturesOf(days, past, hours),
    dayShape: dayShapes(days, past, { harvest, flags }),
    harvestFrom: harvest.from,
    temperatureFrom: hours.from,
    past,
    harvest,
    flags,
  };
}

/** Ascending by day; where both know a day the first counts. */
function merged(first: readonly YieldDay[], second: readonly YieldDay[]): readonly YieldDay[] {
  if (second.length === 0) return first;
  const known = new Set(first.map(({ day }) => day));
  return [...first, ...second.filter(({ day }) => !known.has(day))].sort((a, b) => a.day - b.day);
}

function hoursSince(past: PastHours, sinceMs: number | undefined): PastHours {
  if (sinceMs === undefined) return past;
  const first = Math.ceil((sinceMs - past.history.startMs) / HOUR_MS);
  const spans = past.spans.map(({ from, to }) => ({ from: Math.max(from, first), to }));
  return { ...past, spans: spans.filter(({ from, to }) => to > from) };
}

function hoursUntil(past: PastHours, untilMs: number): PastHours {
  const last = Math.ceil((untilMs - past.history.startMs) / HOUR_MS);
  const spans = past.spans.map(({ from, to }) => ({ from, to: Math.min(to, last) }));
  return { ...past, spans: spans.filter(({ from, to }) => to > from) };
}

/** Days seen through an old panel, as the new one would have shown them: the weather is kept, the panel is not. */
function rescaled(
  days: readonly YieldDay[],
  past: PastHours,
  { sinceMs, factor }: { readonly sinceMs: number; readonly factor: number },
): readonly YieldDay[] {
  const isOld = ({ firstHour }: YieldDay): boolean =>
    past.history.startMs + firstHour * HOUR_MS + DAY_MS / 2 < sinceMs;
  return days.map((day) => (isOld(day) ? { ...day, ratio: day.ratio * factor } : day));
}

/** Gaps take the mean of their day, a day without any the mean of all. */
function temperaturesOf(
  days: readonly YieldDay[],
  past: PastHours,
  battery: BatteryHours,
): Float32Array {
  const overallC = meanOver(battery, 0, past.count) ?? ASSUMED_BATTERY_C;
  const table = new Float32Array(days.length * 24);
  days.forEach(({ firstHour, day, meanC }, index) => {
    let end = Math.max(0, firstHour);
    while (firstHour >= 0 && end < past.count && past.day[end] === day) end++;
    const dayC = firstHour < 0 ? meanC : meanOver(battery, firstHour, end);
    table.fill(dayC ?? overallC, index * 24, index * 24 + 24);
    for (let i = Math.max(0, firstHour); i < end; i++)
      if (battery.known[i] === 1) table[index * 24 + past.slot[i]!] = battery.temperatureC[i]!;
  });
  return table;
}

function meanOver(battery: BatteryHours, from: number, to: number): number | undefined {
  let sum = 0;
  let known = 0;
  for (let i = from; i < to; i++)
    if (battery.known[i] === 1) {
      sum += battery.temperatureC[i]!;
      known++;
    }
  return known === 0 ? undefined : sum / known;
}
