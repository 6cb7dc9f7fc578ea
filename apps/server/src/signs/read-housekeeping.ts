import type { HousekeepingFigures } from '@duskline/alerts';
import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode, type MetricKey } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';
import { lastPanelVolts } from './last-panel-volts.ts';
import { lineThrough } from './line-through.ts';
import { settingsAsked } from './settings-asked.ts';

const TREND_MS = 14 * DAY_MS;
const FRESH_MS = 2 * HOUR_MS;
/** Readings of a day by which a metric is judged at the least. */
const ENOUGH_READINGS = 12;

/** How a node's own housekeeping stands: what it reports of clock, storage, link and itself, and how its readings fared. */
export async function readHousekeeping(
  store: Store,
  facts: NodeSituation,
): Promise<HousekeepingFigures> {
  const { node, nowMs } = facts;
  const range = { fromMs: nowMs - TREND_MS, toMs: nowMs };
  const [hours, uptimes, fates, intervals, settingsRequest, isUnsure] = await Promise.all([
    store.signs.hours(node.id, ['signal', 'disk_free', 'tx_bytes'], range),
    store.signs.hourlyLows(node.id, 'uptime', { fromMs: nowMs - DAY_MS, toMs: nowMs }),
    store.signs.fates(node.id, nowMs - DAY_MS),
    store.intervals.list(node.id, nowMs - 2 * DAY_MS, nowMs),
    settingsAsked(store, { ...facts, timeZone: facts.site.timeZone }),
    store.signs.sentUnsure(node.id, nowMs - FRESH_MS),
  ]);
  const fresh = (metric: MetricKey): number | undefined => {
    const reading = facts.latest.find((one) => one.metric === metric);
    return reading === undefined || nowMs - reading.observedAtMs > FRESH_MS
      ? undefined
      : reading.value;
  };
  const shortDarks = intervals.filter(
    ({ state, fromMs, toMs }) =>
      state === 'dark-as-designed' && toMs !== undefined && toMs - fromMs < 6 * HOUR_MS,
  ).length;
  const dark = intervals.findLast(
    ({ state }) => state === 'dark-as-designed' || state === 'overdue',
  );
  const sensors = fates
    .filter(({ count }) => count >= ENOUGH_READINGS)
    .map(({ metric, count, bad }) => ({
      metric,
      badShare: bad / count,
      why: `${bad} of ${count} readings are suspect or failed`,
    }));
  const clockOffsetS = fresh('clock_offset');
  const clockSource = sourceOf(fresh('clock_src'));
  const storageErrors = fresh('disk_err');
  const backlog = fresh('backlog');
  const gapS = node.power.usualGapS;
  return {
    shortDarks,
    sensors,
    ...(dark === undefined
      ? {}
      : {
          darkness: {
            fromMs: dark.fromMs,
            ...(dark.toMs === undefined ? {} : { endedAtMs: dark.toMs }),
          },
        }),
    ...(settingsRequest === undefined ? {} : { settingsRequest }),
    ...bootsIn24h(uptimes),
    ...(clockOffsetS === undefined ? {} : { clockOffsetS }),
    ...(isUnsure
      ? { clockSource: 'none' as const }
      : clockSource === undefined
        ? {}
        : { clockSource }),
    ...storageTrend(hours.get('disk_free') ?? [], fresh('disk_free')),
    ...(storageErrors === undefined ? {} : { storageErrors }),
    ...(fresh('fs_ro') === 1 ? { storageReadOnly: true } : {}),
    ...signalTrend(hours.get('signal') ?? []),
    ...(backlog === undefined ? {} : { backlogHours: (backlog * gapS) / 3600 }),
    ...dataUse(
      node,
      facts.latest.find((one) => one.metric === 'tx_bytes'),
      nowMs,
    ),
    ...(await tamperOf(store, facts)),
  };
}

/** Hours in which it had been up for less than an hour: each holds a start. */
function bootsIn24h(
  lowestUptimeS: readonly (number | null)[],
): Pick<HousekeepingFigures, 'bootsIn24h'> {
  const known = lowestUptimeS.flatMap((seconds) => seconds ?? []);
  if (known.length === 0) return {};
  let starts = 0;
  let before = Infinity;
  for (const seconds of known) {
    if (seconds < 3600 && seconds < before) starts++;
    before = seconds;
  }
  return { bootsIn24h: starts };
}

const SOURCES = ['none', 'network', 'satellite', 'battery-clock'] as const;

function sourceOf(code: number | undefined): HousekeepingFigures['clockSource'] {
  return code === undefined ? undefined : SOURCES[code];
}

/** Days until full by the line through the last two weeks. */
function storageTrend(
  freeBytes: readonly (number | null)[],
  nowBytes: number | undefined,
): Pick<HousekeepingFigures, 'storageDaysToFull'> {
  const line = lineThrough(freeBytes);
  if (line === undefined || nowBytes === undefined || line.slopePerHour >= 0) return {};
  return { storageDaysToFull: nowBytes / (-line.slopePerHour * 24) };
}

function signalTrend(
  signalDbm: readonly (number | null)[],
): Pick<HousekeepingFigures, 'signalChangeDb'> {
  const line = lineThrough(signalDbm);
  return line === undefined ? {} : { signalChangeDb: line.slopePerHour * 24 * 14 };
}

/** What it will have sent when its plan begins anew, at the rate of this month so far. */
function dataUse(
  { dataPlan }: FieldNode,
  sent: { readonly value: number; readonly observedAtMs: number } | undefined,
  nowMs: number,
): Pick<HousekeepingFigures, 'data'> {
  if (dataPlan === undefined || sent === undefined) return {};
  const usedBytes = sent.value;
  const now = new Date(nowMs);
  const renewal = (monthsOn: number) =>
    Date.UTC(now.getUTCFullYear(), now.getUTCMonth() + monthsOn, dataPlan.renewsOnDay);
  const renewsAtMs = renewal(0) > nowMs ? renewal(0) : renewal(1);
  const beganAtMs = renewal(0) > nowMs ? renewal(-1) : renewal(0);
  // A node silenced by its plan says nothing new: its last count stands until the plan begins anew.
  if (sent.observedAtMs < beganAtMs) return {};
  const share = Math.max(0.02, (nowMs - beganAtMs) / (renewsAtMs - beganAtMs));
  return {
    data: { usedBytes, expectedBytes: usedBytes / share, capBytes: dataPlan.capBytes, renewsAtMs },
  };
}

/** Only a node that has fallen silent is asked for the last volts of its panel. */
const SILENT_MS = 10 * MINUTE_MS;
const GONE_V = 1;
const THERE_V = 8;

async function tamperOf(
  store: Store,
  facts: NodeSituation,
): Promise<Pick<HousekeepingFigures, 'tamper'>> {
  const { latest, nowMs, lastHeardAtMs = nowMs, lastObservedAtMs } = facts;
  for (const [metric, says] of [
    ['box_open', 'Its box was opened'],
    ['tilt_move', 'It was moved'],
  ] as const) {
    const reading = latest.find((one) => one.metric === metric);
    if (reading?.value === 1) return { tamper: { atMs: reading.observedAtMs, says } };
  }
  // It stopped itself in good order: a plug that was loose then is no theft.
  if (facts.lastWord?.kind === 'farewell') return {};
  if (nowMs - lastHeardAtMs < SILENT_MS || lastObservedAtMs === undefined) return {};
  const [before = 0, last = before] = await lastPanelVolts(store, facts);
  if (before < THERE_V || last > GONE_V) return {};
  const says = `Its panel fell from ${before.toFixed(1)} V to ${last.toFixed(1)} V in one step in daylight`;
  return { tamper: { atMs: lastObservedAtMs, says } };
}
