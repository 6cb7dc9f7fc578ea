import type { Account } from './account.ts';
import type { AccountId, SiteId } from './ids.ts';

/** Ways to reach a person, the least disturbing for the sender first. */
export const channelKinds = ['push', 'email', 'text', 'webhook'] as const;
export type ChannelKind = (typeof channelKinds)[number];

/** One way to reach one person. */
export interface PersonChannel {
  readonly id: string;
  readonly kind: ChannelKind;
  /** E-mail address, telephone number, or https address. */
  readonly address: string;
  /** Set: nothing reached it, and why. It is tried again when the person says that it works. */
  readonly fault?: string;
}

/** Minutes after local midnight; where `fromMinute` is the larger one the quiet runs over midnight. */
export interface QuietHours {
  readonly fromMinute: number;
  readonly untilMinute: number;
}

/** Common practice, no source: 22:00 to 07:00. */
export const USUAL_QUIET: QuietHours = { fromMinute: 22 * 60, untilMinute: 7 * 60 };

/** An account with all that is needed to call its owner. */
export interface Person extends Account {
  readonly phone: string;
  /** IANA name. */
  readonly timeZone: string;
  readonly quiet: QuietHours;
  /** Ids of the groups of sites this person looks after; none: all sites. */
  readonly groups: readonly string[];
  /** In the order in which they are tried; those that ended are not among them. */
  readonly channels: readonly PersonChannel[];
  /** Set: may not come in any more and is not called. */
  readonly endedAtMs?: number;
}

/** Sites that the same people look after. */
export interface SiteGroup {
  readonly id: string;
  readonly name: string;
  readonly siteIds: readonly SiteId[];
}

/** Somebody does one occurrence of another's shift. */
export interface ShiftSwap {
  /** Local start of the occurrence, `2026-11-23T09:00`. */
  readonly start: string;
  readonly to: AccountId;
}

/** Who is on call when: one person, once or by recurrence (RFC 5545 RRULE), in local time of a zone. */
export interface Shift {
  readonly id: string;
  readonly personId: AccountId;
  /** Undefined: for all sites. */
  readonly groupId?: string;
  /** Local start of the first occurrence, `2026-11-23T09:00`. */
  readonly start: string;
  /** On the clock: a shift of 24 hours over the change of the clocks ends at the hour it began. */
  readonly durationMinutes: number;
  readonly timeZone: string;
  /** `FREQ=WEEKLY;INTERVAL=3`; empty: once. */
  readonly recurrence: string;
  /** Local starts of the occurrences that do not take place. */
  readonly exceptions: readonly string[];
  readonly swaps: readonly ShiftSwap[];
}

/** What a message to a person is. `flood`: several alerts at once; `test`: the weekly proof that a channel works. */
export const callKinds = ['call', 'flood', 'letter', 'test', 'hand-over-note'] as const;
export type CallKind = (typeof callKinds)[number];
