import { DAY_MS, MINUTE_MS, ok, SECOND_MS, type Result, type TimeQuality } from '@duskline/domain';
import type { UptimeAnchor } from './decode-message.ts';
import { recordName, refuse, type WireFault } from './faults.ts';
import { isRelativeTime } from './resolve-pack.ts';
import type { UpKind } from './topics.ts';

/** No node of ours is older: an earlier time is a clock that was never set. */
const EARLIEST_MS = Date.UTC(2020, 0, 1);
/** How far a good clock may run ahead, with the time a message is under way counted in. */
const AHEAD_MS = 5 * MINUTE_MS;
/** Further ahead than this nothing is stored, whatever the reason. */
const REFUSED_AHEAD_MS = DAY_MS;
/** Whole seconds of uptime may make a reading look this much younger than the message it came in. */
const UPTIME_SLACK_S = 1;

/** Where the node's time meets the server's. */
export interface Receipt {
  readonly receivedAtMs: number;
  readonly kind: UpKind;
  readonly anchor?: UptimeAnchor | undefined;
  /** Of a state message: node-said time of the word itself. */
  readonly wordTimeS?: number | undefined;
}

/** The readings at one node-said time, with what they themselves say about that time. */
export interface Moment {
  readonly timeS: number;
  readonly uptimeS?: number | undefined;
  /** Code of `clock_src`. */
  readonly clockSource?: number | undefined;
  /** A record to name in a fault. */
  readonly record: number;
  readonly metric: string;
}

export interface Dated {
  readonly observedAtMs: number;
  readonly timeQuality: TimeQuality;
  /** What the node's own clock said, where it was not believed. */
  readonly saidTimeS?: number;
}

const CLOCK_NONE = 0;
const CLOCK_BATTERY = 3;
/** The node itself dated the reading, from its uptime and a time it learned later. */
const CLOCK_UPTIME = 4;

/**
 * When readings were taken, in UTC, and how far that can be trusted.
 *
 * A plausible absolute time is taken at its word; a relative one is counted from receipt; an implausible one is counted back
 * from the uptime the node had when it sent the message: observed = sent − (uptime then − uptime at the reading).
 *
 * @returns whole milliseconds, from 2020 up to a day after receipt; a fault when there is no way to such a time
 */
export function dateMoment(moment: Moment, receipt: Receipt): Result<Dated, WireFault> {
  const { timeS } = moment;
  const relative = isRelativeTime(timeS);
  const saidMs = Math.round(
    relative ? receipt.receivedAtMs + timeS * SECOND_MS : timeS * SECOND_MS,
  );
  // A clock that was never set may say a likely time all the same: the uptime knows better, where there is one.
  const unset = !relative && moment.clockSource === CLOCK_NONE;
  if (isPlausible(saidMs, receipt) && !(unset && canCountBack(moment, receipt))) {
    return ok({
      observedAtMs: saidMs,
      timeQuality: relative ? 're-dated' : absoluteQuality(moment.clockSource),
    });
  }
  const countedMs = countBack(moment, receipt);
  if (countedMs !== undefined && isPlausible(countedMs, receipt)) {
    return ok({ observedAtMs: countedMs, timeQuality: 're-dated', saidTimeS: timeS });
  }
  const aheadMs = saidMs - receipt.receivedAtMs;
  if (saidMs >= EARLIEST_MS && aheadMs <= REFUSED_AHEAD_MS) {
    return ok({ observedAtMs: saidMs, timeQuality: 'unsure' });
  }
  return impossible(moment, { saidMs, receivedAtMs: receipt.receivedAtMs });
}

/** From an uptime that is said to be of sending, no less: any other may be as old as the readings. */
function canCountBack(moment: Moment, receipt: Receipt): boolean {
  if (receipt.anchor === undefined || !isRelativeTime(receipt.anchor.timeS)) return false;
  const countedMs = countBack(moment, receipt);
  return countedMs !== undefined && isPlausible(countedMs, receipt);
}

const isPlausible = (ms: number, { receivedAtMs }: Receipt): boolean =>
  ms >= EARLIEST_MS && ms <= receivedAtMs + AHEAD_MS;

function absoluteQuality(clockSource: number | undefined): TimeQuality {
  if (clockSource === CLOCK_NONE) return 'unsure';
  if (clockSource === CLOCK_UPTIME) return 're-dated';
  return clockSource === CLOCK_BATTERY ? 'held-over' : 'synced';
}

function countBack(moment: Moment, receipt: Receipt): number | undefined {
  const { receivedAtMs, kind, anchor, wordTimeS } = receipt;
  // What a node says of itself it says as it happens.
  if (kind === 'state' && moment.timeS === wordTimeS) return receivedAtMs;
  if (anchor === undefined) return undefined;
  const anchorRelative = isRelativeTime(anchor.timeS);
  // From the backlog, an uptime beside an absolute time may be as old as the readings.
  if (!anchorRelative && kind === 'backlog') return undefined;
  const sentAtMs = anchorRelative ? receivedAtMs + anchor.timeS * SECOND_MS : receivedAtMs;
  const behindS = secondsBehind(moment, anchor);
  if (behindS === undefined || behindS < -UPTIME_SLACK_S) return undefined;
  return Math.round(sentAtMs - Math.max(0, behindS) * SECOND_MS);
}

/** How long before the anchor the moment was: by uptime, or by the node's own clock, wrong but steady. */
function secondsBehind(moment: Moment, anchor: UptimeAnchor): number | undefined {
  if (moment.uptimeS !== undefined) return anchor.uptimeS - moment.uptimeS;
  const sameClock = !isRelativeTime(anchor.timeS) && !isRelativeTime(moment.timeS);
  return sameClock ? anchor.timeS - moment.timeS : undefined;
}

function impossible(
  moment: Moment,
  { saidMs, receivedAtMs }: { readonly saidMs: number; readonly receivedAtMs: number },
): Result<never, WireFault> {
  const where = recordName(moment.record, moment.metric);
  const mend = finerUnit(moment.timeS, receivedAtMs);
  return saidMs > receivedAtMs
    ? refuse(
        'time-in-future',
        `${where} is dated ${inWords(saidMs)}, ${lengthInWords(saidMs - receivedAtMs)} after it was received; ${mend}.`,
      )
    : refuse(
        'time-impossible',
        `${where} is dated ${inWords(saidMs)}, before 2020, when no node was up; ${mend}.`,
      );
}

function finerUnit(timeS: number, receivedAtMs: number): string {
  const fits = (divisor: number): boolean => {
    const ms = (timeS / divisor) * SECOND_MS;
    return ms >= EARLIEST_MS && ms <= receivedAtMs + REFUSED_AHEAD_MS;
  };
  if (fits(1e3)) return 'it looks like milliseconds: send seconds since 1970';
  if (fits(1e6)) return 'it looks like microseconds: send seconds since 1970';
  if (fits(1e9)) return 'it looks like nanoseconds: send seconds since 1970';
  return "set the node's clock, or send times relative to now (t of 0 or less), or an uptime with every reading";
}

const LAST_DATE_MS = 8.64e15;

function inWords(ms: number): string {
  if (Math.abs(ms) > LAST_DATE_MS) return 'far outside any calendar';
  return `${new Date(ms).toISOString().slice(0, 19).replace('T', ' ')} UTC`;
}

const DAYS_A_YEAR = 365.25;

function lengthInWords(ms: number): string {
  const days = ms / DAY_MS;
  if (days >= 2 * DAYS_A_YEAR) return `${Math.floor(days / DAYS_A_YEAR)} years`;
  return days >= 2 ? `${Math.floor(days)} days` : `${Math.floor(days * 24)} hours`;
}
