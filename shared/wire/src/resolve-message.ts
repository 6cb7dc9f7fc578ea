import {
  MINUTE_MS,
  metric as entryOf,
  metricKeys,
  ok,
  type AcceptedMessage,
  type MetricKey,
  type NodeWord,
  type Result,
  type Sample,
  type TimeQuality,
} from '@duskline/domain';
import { dateMoment, type Dated, type Moment, type Receipt } from './date-readings.ts';
import type { DecodedMessage, DecodedReading } from './decode-message.ts';
import { recordName, refuse, type WireFault } from './faults.ts';

/** The uptime of sending belongs to the newest reading when that was taken as the message was sent. */
const SENT_AS_MEASURED_MS = MINUTE_MS;

/** Readings of one moment while they are gathered, in the order of the pack. */
interface Group {
  readonly timeS: number;
  readonly readings: DecodedReading[];
}

interface DatedGroup extends Dated {
  readonly readings: readonly DecodedReading[];
}

/**
 * Dates a decoded message and lays its readings out as rows: one sample a moment, its metrics in the order of their names.
 *
 * @param decoded from {@link decodeMessage}
 * @param receivedAtMs the server's own time of receipt, UTC
 * @returns samples in the order of their times, or the fault of the whole message
 */
export function resolveMessage(
  decoded: DecodedMessage,
  receivedAtMs: number,
): Result<AcceptedMessage, WireFault> {
  const { node, kind, place } = decoded;
  const receipt: Receipt = {
    receivedAtMs,
    kind,
    anchor: decoded.anchor,
    wordTimeS: decoded.word?.timeS,
  };
  const dated = dateGroups(groupByTime(decoded.readings), receipt);
  if (!dated.ok) return dated;
  const samples = layOut(mergeEqualTimes(placeLoneUptime(dated.value, decoded)));
  if (!samples.ok) return samples;
  const word = readWord(decoded, receipt);
  return ok({
    node,
    lane: kind === 'backlog' ? 'backlog' : 'live',
    receivedAtMs,
    ...(place === undefined ? {} : { place }),
    samples: samples.value,
    ...(word === undefined ? {} : { word }),
    ...(decoded.settings === undefined ? {} : { settings: decoded.settings }),
  });
}

function groupByTime(readings: readonly DecodedReading[]): readonly Group[] {
  const groups = new Map<number, Group>();
  let last: Group | undefined;
  for (const reading of readings) {
    if (last?.timeS !== reading.timeS) {
      last = groups.get(reading.timeS);
      if (last === undefined) {
        last = { timeS: reading.timeS, readings: [] };
        groups.set(reading.timeS, last);
      }
    }
    last.readings.push(reading);
  }
  return [...groups.values()];
}

function dateGroups(
  groups: readonly Group[],
  receipt: Receipt,
): Result<readonly DatedGroup[], WireFault> {
  const dated: DatedGroup[] = [];
  for (const { timeS, readings } of groups) {
    const date = dateMoment(momentOf(timeS, readings), receipt);
    if (!date.ok) return date;
    dated.push({ ...date.value, readings });
  }
  return ok(dated);
}

function momentOf(timeS: number, readings: readonly DecodedReading[]): Moment {
  const valueOf = (key: MetricKey): number | undefined =>
    readings.find(({ metric }) => metric === key)?.value;
  const first = readings[0];
  return {
    timeS,
    uptimeS: valueOf('uptime'),
    clockSource: valueOf('clock_src'),
    record: first?.record ?? 0,
    metric: first?.metric ?? '',
  };
}

/**
 * Where the uptime of sending goes, when it came apart from the readings: into the newest sample if that was taken within the
 * minute, and else nowhere, for it would make a row of its own beside every message. As an anchor it has served already.
 */
function placeLoneUptime(
  groups: readonly DatedGroup[],
  { anchor, readings }: DecodedMessage,
): readonly DatedGroup[] {
  if (anchor === undefined) return groups;
  const lone = groups.find(
    (group) => group.readings[0]?.timeS === anchor.timeS && isLoneUptime(group),
  );
  if (lone === undefined || lone.readings.length === readings.length) return groups;
  const others = groups.filter((group) => group !== lone);
  const newest = others.reduce((a, b) => (b.observedAtMs > a.observedAtMs ? b : a));
  const near = Math.abs(lone.observedAtMs - newest.observedAtMs) <= SENT_AS_MEASURED_MS;
  const hasOwn = newest.readings.some(({ metric }) => metric === 'uptime');
  if (!near || hasOwn) return others;
  const joined = { ...newest, readings: [...newest.readings, ...lone.readings] };
  return others.map((group) => (group === newest ? joined : group));
}

const isLoneUptime = ({ readings }: DatedGroup): boolean =>
  readings.length === 1 && readings[0]?.metric === 'uptime';

/** From the least to the most trusted. */
const trust: readonly TimeQuality[] = ['unsure', 're-dated', 'held-over', 'synced'];

/** Two node-said times may come to the same millisecond; one row has one time. */
function mergeEqualTimes(groups: readonly DatedGroup[]): readonly DatedGroup[] {
  const merged = new Map<number, DatedGroup>();
  for (const group of groups) {
    const there = merged.get(group.observedAtMs);
    merged.set(group.observedAtMs, there === undefined ? group : mergeTwo(there, group));
  }
  return [...merged.values()].sort((a, b) => a.observedAtMs - b.observedAtMs);
}

function mergeTwo(a: DatedGroup, b: DatedGroup): DatedGroup {
  const date = trust.indexOf(a.timeQuality) <= trust.indexOf(b.timeQuality) ? a : b;
  return { ...date, readings: [...a.readings, ...b.readings] };
}

const ranks: ReadonlyMap<MetricKey, number> = new Map(
  [...metricKeys].sort().map((key, rank) => [key, rank]),
);
const rankOf = (metric: MetricKey): number => ranks.get(metric) ?? 0;

/** How the readings of one moment are ordered into a row: packs repeat it sample after sample. */
interface Layout {
  readonly written: readonly MetricKey[];
  readonly metrics: readonly MetricKey[];
  /** `order[i]` is where the i-th metric of the row was written. */
  readonly order: readonly number[];
}

function layOut(groups: readonly DatedGroup[]): Result<readonly Sample[], WireFault> {
  const samples: Sample[] = [];
  let layout: Layout | undefined;
  for (const { readings, ...date } of groups) {
    if (layout === undefined || !isWrittenAs(layout, readings)) {
      const once = dropRepeats(readings);
      if (!once.ok) return once;
      layout = layoutOf(once.value);
      samples.push(toSample(date, layout, once.value));
    } else {
      samples.push(toSample(date, layout, readings));
    }
  }
  return ok(samples);
}

const toSample = (
  date: Dated,
  { metrics, order }: Layout,
  readings: readonly DecodedReading[],
): Sample => ({
  observedAtMs: date.observedAtMs,
  metrics,
  values: order.map((at) => readings[at]?.value ?? Number.NaN),
  timeQuality: date.timeQuality,
  ...(date.saidTimeS === undefined ? {} : { saidTimeS: date.saidTimeS }),
});

/** Layouts are made of readings without repeats, so what is written the same way has none either. */
const isWrittenAs = ({ written }: Layout, readings: readonly DecodedReading[]): boolean =>
  written.length === readings.length && readings.every(({ metric }, i) => metric === written[i]);

function layoutOf(readings: readonly DecodedReading[]): Layout {
  const written = readings.map(({ metric }) => metric);
  const order = written
    .map((metric, at) => ({ rank: rankOf(metric), at }))
    .sort((a, b) => a.rank - b.rank)
    .map(({ at }) => at);
  return { written, metrics: order.flatMap((at) => written[at] ?? []), order };
}

/** The same value said twice counts once; two values for one moment cannot both be true, and nobody here can tell which is. */
function dropRepeats(
  readings: readonly DecodedReading[],
): Result<readonly DecodedReading[], WireFault> {
  const seen = new Map<MetricKey, DecodedReading>();
  for (const reading of readings) {
    const earlier = seen.get(reading.metric);
    if (earlier === undefined) {
      seen.set(reading.metric, reading);
    } else if (earlier.value !== reading.value) {
      return refuse(
        'reading-doubled',
        `${recordName(reading.record, reading.metric)} is ${reading.value} at the same time at which ${recordName(earlier.record).toLowerCase()} is ${earlier.value}; give each reading its own time.`,
      );
    }
  }
  return ok([...seen.values()]);
}

function readWord(decoded: DecodedMessage, receipt: Receipt): NodeWord | undefined {
  const { word, readings } = decoded;
  if (word === undefined) return undefined;
  const date = dateMoment({ timeS: word.timeS, record: 0, metric: word.kind }, receipt);
  const atMs = date.ok ? date.value.observedAtMs : receipt.receivedAtMs;
  const valueOf = (key: MetricKey): number | undefined =>
    readings.find(({ metric }) => metric === key)?.value;
  if (word.kind === 'dropped') return { kind: 'dropped', atMs };
  if (word.kind === 'hello') {
    const code = valueOf('boot_cause');
    const bootCause = code === undefined ? undefined : entryOf('boot_cause').codes?.[code];
    return { kind: 'hello', atMs, ...(bootCause === undefined ? {} : { bootCause }) };
  }
  const chargePct = valueOf('charge');
  return {
    kind: 'farewell',
    atMs,
    reason: word.reason ?? '',
    ...(chargePct === undefined ? {} : { chargeRatio: chargePct / 100 }),
  };
}
