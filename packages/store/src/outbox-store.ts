import type { AccountId, Alert, AlertId, CallKind, ChannelKind, Priority } from '@duskline/domain';
import type { ChannelKeys } from './people-store.ts';

/** What a message says; the channel makes of it what it can carry. */
export interface CallBody {
  readonly subject: string;
  readonly text: string;
  /** Of the alerts a `flood` stands for. */
  readonly alerts?: readonly string[];
  readonly [more: string]: unknown;
}

/** A row for the outbox. Without a channel it is kept as `no-channel`: nobody could be told, and that is shown. */
export interface NewCall {
  readonly key: string;
  readonly kind: CallKind;
  readonly alertId?: AlertId;
  readonly step: number;
  readonly priority: Priority;
  readonly personId: AccountId;
  readonly channel?: { readonly id: string; readonly kind: ChannelKind; readonly breaker: string };
  readonly dueAtMs: number;
  readonly giveUpAtMs: number;
  readonly body: CallBody;
}

/** `due`: not yet sent. `superseded`: somebody took the alert, it ended, or a later message says more. */
export type CallState = 'due' | 'sent' | 'dead' | 'superseded' | 'no-channel';

/** A row as pages and drills look at it. */
export interface OutboxRow {
  readonly key: string;
  readonly kind: CallKind;
  readonly alertId?: AlertId;
  readonly step: number;
  readonly priority: Priority;
  readonly personId: AccountId;
  readonly channelKind?: ChannelKind;
  readonly state: CallState;
  readonly createdAtMs: number;
  readonly dueAtMs: number;
  readonly settledAtMs?: number;
  readonly attempts: number;
  readonly error?: string;
  readonly body: CallBody;
}

/** A row somebody has claimed, with all that sending it needs. */
export interface ClaimedCall extends OutboxRow {
  /** Grows with every claim: an older one changes nothing any more. */
  readonly fence: number;
  readonly giveUpAtMs: number;
  readonly breaker: string;
  /** Failures of that way out in a row. */
  readonly breakerFailures: number;
  readonly channel: {
    readonly id: string;
    readonly kind: ChannelKind;
    readonly address: string;
    readonly keys: ChannelKeys;
  };
}

/** An alert about which somebody is to be told now. */
export interface DueAlert {
  readonly alert: Alert;
  readonly siteName: string;
  readonly dueAtMs: number;
  /** Calls made so far. */
  readonly called: number;
  /** Who was told since the chain began. */
  readonly told: readonly AccountId[];
  readonly handedTo?: AccountId;
}

export interface ChannelHealth {
  readonly breaker: string;
  readonly failures: number;
  readonly openUntilMs?: number;
  readonly error?: string;
  readonly failedAtMs?: number;
  readonly sentAtMs?: number;
}

export interface OutboxStore {
  /** The most urgent first. */
  dueAlerts(nowMs: number, limit: number): Promise<readonly DueAlert[]>;
  /**
   * Makes rows of a due alert and says when to look at it again, in one statement; nothing happens when the alert was taken,
   * ended or expanded by another server meanwhile.
   *
   * @returns whether it was kept
   */
  expand(
    due: Pick<DueAlert, 'alert' | 'dueAtMs'>,
    plan: {
      readonly rows: readonly NewCall[];
      readonly told: readonly AccountId[];
      readonly nextCallAtMs?: number;
    },
    nowMs: number,
  ): Promise<boolean>;
  /** Rows that are there already stay as they are. @returns how many are new */
  add(rows: readonly NewCall[], nowMs: number): Promise<number>;
  /** A flood that was not sent yet says one alert more. @returns false when there is none waiting */
  widenFlood(personId: AccountId, body: CallBody): Promise<boolean>;
  /** Takes the most urgent due rows, by lease and fence; what was taken or ended meanwhile is superseded first. */
  claim(ask: {
    readonly holder: string;
    readonly limit: number;
    readonly leaseMs: number;
    readonly nowMs: number;
  }): Promise<readonly ClaimedCall[]>;
  /** Right before sending: is it still ours, and still wanted? The lease is renewed. */
  begin(call: Pick<ClaimedCall, 'key' | 'fence'>, leaseMs: number): Promise<boolean>;
  /** Of those that are still ours. */
  renew(calls: readonly Pick<ClaimedCall, 'key' | 'fence'>[], leaseMs: number): Promise<void>;
  sent(call: Pick<ClaimedCall, 'key' | 'fence' | 'breaker'>, nowMs: number): Promise<boolean>;
  /** Tried again at `dueAtMs`. `probe`: the attempt is not counted. */
  again(
    call: Pick<ClaimedCall, 'key' | 'fence'>,
    outcome: { readonly dueAtMs: number; readonly error?: string; readonly uncounted?: boolean },
  ): Promise<void>;
  /** Given up. `channelFault`: this address takes nothing; `channelEnded`: it says so itself. */
  dead(
    call: Pick<ClaimedCall, 'key' | 'fence' | 'channel'>,
    outcome: { readonly error: string; readonly channel?: 'fault' | 'ended' },
    nowMs: number,
  ): Promise<void>;
  /** A way out failed. */
  breakerFailed(
    breaker: string,
    error: string,
    openUntilMs: number | undefined,
    nowMs: number,
  ): Promise<void>;
  channels(): Promise<readonly ChannelHealth[]>;
  /** P1 rows wanted before `beforeMs`, not sent, with no row of the same alert, step and person on another channel. */
  stuckUrgent(beforeMs: number): Promise<readonly OutboxRow[]>;
  /** The latest first. */
  list(filter: {
    readonly alertId?: AlertId;
    readonly personId?: AccountId;
    readonly states?: readonly CallState[];
    readonly fromMs?: number;
    readonly toMs?: number;
    readonly limit: number;
  }): Promise<readonly OutboxRow[]>;
  /** Calls about alerts made to a person since. */
  callsSince(personId: AccountId, sinceMs: number): Promise<number>;
  /** How long the oldest row not yet sent has waited past the time at which it was wanted. */
  oldestUnsentMs(nowMs: number): Promise<number | undefined>;
  makeLink(link: {
    readonly tokenHash: Uint8Array;
    readonly alertId: AlertId;
    readonly personId: AccountId;
    readonly expiresAtMs: number;
  }): Promise<void>;
  /** Undefined: not known, used or over. */
  findLink(
    tokenHash: Uint8Array,
    nowMs: number,
  ): Promise<{ readonly alertId: AlertId; readonly personId: AccountId } | undefined>;
  /** Uses it up. @returns as findLink */
  useLink(
    tokenHash: Uint8Array,
    nowMs: number,
  ): Promise<{ readonly alertId: AlertId; readonly personId: AccountId } | undefined>;
}
