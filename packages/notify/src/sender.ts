import { priorities, type CallKind, type ChannelKind, type Priority } from '@duskline/domain';
import type { Channel, Delivery, OutgoingMessage } from './delivery.ts';

/** A row of the outbox that this sender holds. */
export interface HeldCall {
  readonly key: string;
  readonly fence: number;
  readonly kind: CallKind;
  readonly alertId?: string;
  readonly personId: string;
  readonly priority: Priority;
  readonly createdAtMs: number;
  readonly giveUpAtMs: number;
  readonly attempts: number;
  readonly breaker: string;
  readonly breakerFailures: number;
  readonly channel: {
    readonly id: string;
    readonly kind: ChannelKind;
    readonly address: string;
    readonly keys: Readonly<Record<string, string>>;
  };
  readonly body: { readonly subject: string; readonly text: string };
}

/** What the sender asks of the outbox; see OutboxStore of the store. */
export interface OutboxPort<C extends HeldCall = HeldCall> {
  claim(ask: {
    readonly holder: string;
    readonly limit: number;
    readonly leaseMs: number;
    readonly nowMs: number;
  }): Promise<readonly C[]>;
  begin(call: C, leaseMs: number): Promise<boolean>;
  renew(calls: readonly C[], leaseMs: number): Promise<void>;
  sent(call: C, nowMs: number): Promise<boolean>;
  again(
    call: C,
    outcome: { readonly dueAtMs: number; readonly error?: string; readonly uncounted?: boolean },
  ): Promise<void>;
  dead(
    call: C,
    outcome: { readonly error: string; readonly channel?: 'fault' | 'ended' },
    nowMs: number,
  ): Promise<void>;
  breakerFailed(
    breaker: string,
    error: string,
    openUntilMs: number | undefined,
    nowMs: number,
  ): Promise<void>;
}

/** For tests of faults: told at each point of a delivery, in turn. */
export type SendPoint = 'claimed' | 'before-send' | 'after-send' | 'recorded';

export interface SenderOptions<C extends HeldCall> {
  readonly outbox: OutboxPort<C>;
  readonly channels: readonly Channel[];
  readonly holder: string;
  readonly now: () => number;
  /** 0–1. */
  readonly random: () => number;
  /** The link that takes the alert, made anew for each attempt; undefined: none. */
  readonly linkFor?: (call: C) => Promise<string | undefined>;
  readonly onPoint?: (point: SendPoint, call: C) => void | Promise<void>;
  readonly onSettled?: (call: C, delivery: Delivery) => void;
  /** Default 10 s; renewed while what is held waits for its turn or is being sent. */
  readonly leaseMs?: number;
}

/** So long after a sender died another takes over. Mail may take 30 s, the web 10 s: the lease is renewed meanwhile. */
const LEASE_MS = 10_000;
const RENEWALS_A_LEASE = 3;
const AT_ONCE = 8;
const CLAIM = 50;
/** Failures in a row after which a way out is shut. */
export const BREAKER_AFTER = 5;
const SHUT_MS = [5_000, 10_000, 20_000, 30_000] as const;
const FIRST_RETRY_MS = 1_000;
const LONGEST_RETRY_MS = 15 * 60_000;

/** Wait before attempt n + 1: doubled each time, 1 s to 15 min, with jitter of ± a half. @param random 0–1 */
export function retryMs(attempts: number, random: number): number {
  const wait = Math.min(LONGEST_RETRY_MS, FIRST_RETRY_MS * 2 ** Math.min(attempts - 1, 20));
  return Math.round(wait * (0.5 + random));
}

/** How long a way out stays shut after so many failures in a row; undefined: it is open. Short, so that mending shows soon. */
export function shutMs(failures: number): number | undefined {
  return failures < BREAKER_AFTER
    ? undefined
    : SHUT_MS[Math.min(failures - BREAKER_AFTER, SHUT_MS.length - 1)];
}

export interface Sender {
  /** One turn: takes what is due and sends it. @returns how many rows were held */
  turn(): Promise<number>;
}

/**
 * Delivers what is due, at least once. A row is claimed by lease and fence and asked for again right before it is sent, so
 * that a sender that slept in between sends nothing; who is killed between sending and recording doubles one message, with
 * the same key.
 */
export function createSender<C extends HeldCall>(options: SenderOptions<C>): Sender {
  const { outbox, now, random, leaseMs = LEASE_MS } = options;
  const channels = new Map(options.channels.map((channel) => [channel.kind, channel]));
  /** Held, and neither sent nor given back. */
  const unsent = new Set<C>();
  const at = async (point: SendPoint, call: C) => options.onPoint?.(point, call);

  async function deliver(call: C): Promise<Delivery['kind'] | 'not-ours'> {
    const channel = channels.get(call.channel.kind);
    if (channel === undefined) {
      await outbox.dead(call, { error: 'This way out is not set up.' }, now());
      return 'refused';
    }
    const link = await options.linkFor?.(call);
    await at('before-send', call);
    // Nothing stands between this question and the sending: whoever slept before it sends nothing.
    if (!(await outbox.begin(call, leaseMs))) {
      await outbox.again(call, { dueAtMs: now(), uncounted: true });
      return 'not-ours';
    }
    const delivery = await channel.send(messageOf(call, link));
    unsent.delete(call);
    await at('after-send', call);
    await record(call, delivery);
    await at('recorded', call);
    options.onSettled?.(call, delivery);
    return delivery.kind;
  }

  async function record(call: C, delivery: Delivery): Promise<void> {
    if (delivery.kind === 'sent') {
      await outbox.sent(call, now());
      return;
    }
    const { error } = delivery;
    if (delivery.kind === 'refused') {
      await outbox.dead(
        call,
        { error, ...(delivery.channel === undefined ? {} : { channel: delivery.channel }) },
        now(),
      );
      return;
    }
    const failures = call.breakerFailures + 1;
    const shut = shutMs(failures);
    await outbox.breakerFailed(
      call.breaker,
      error,
      shut === undefined ? undefined : now() + shut,
      now(),
    );
    // A way out of our own is probed by one message every half minute, whichever it is: so mending it shows within a minute.
    const isOurs = call.channel.kind === 'email' || call.channel.kind === 'text';
    const waitMs = isOurs && shut !== undefined ? shut : retryMs(call.attempts, random());
    const dueAtMs = now() + Math.max(delivery.retryAfterMs ?? 0, waitMs);
    if (dueAtMs > call.giveUpAtMs) await outbox.dead(call, { error }, now());
    else await outbox.again(call, { dueAtMs, error });
  }

  /** Rows of one way out, the urgent first: one by one while it fails, so that a dead one is not asked for each of them. */
  async function deliverAll(calls: readonly C[]): Promise<void> {
    const [probe, ...rest] = calls;
    if (probe === undefined) return;
    await at('claimed', probe);
    const shutBefore = probe.breakerFailures >= BREAKER_AFTER;
    const outcome = await deliver(probe);
    if (outcome === 'failed' && (shutBefore || rest.length > 0)) {
      const failures = probe.breakerFailures + 1;
      const waitMs = shutMs(failures) ?? retryMs(1, random());
      for (const call of rest)
        await outbox.again(call, { dueAtMs: now() + waitMs, uncounted: true });
      return;
    }
    for (const priority of priorities)
      await deliverSome(rest.filter((call) => call.priority === priority));
  }

  async function deliverSome(calls: readonly C[]): Promise<void> {
    const queue = [...calls];
    await Promise.all(
      Array.from({ length: Math.min(AT_ONCE, queue.length) }, async () => {
        for (let call = queue.shift(); call !== undefined; call = queue.shift()) {
          await at('claimed', call);
          await deliver(call);
        }
      }),
    );
  }

  return {
    async turn() {
      const held = await outbox.claim({
        holder: options.holder,
        limit: CLAIM,
        leaseMs,
        nowMs: now(),
      });
      if (held.length === 0) return 0;
      for (const call of held) unsent.add(call);
      const renewal = setInterval(() => {
        const ours = held.filter((call) => unsent.has(call));
        // A database that is away is found out by `begin` and `sent`.
        if (ours.length > 0) outbox.renew(ours, leaseMs).catch(() => undefined);
      }, leaseMs / RENEWALS_A_LEASE);
      try {
        await Promise.all([...groupByWay(held).values()].map(deliverAll));
      } finally {
        clearInterval(renewal);
        for (const call of held) unsent.delete(call);
      }
      return held.length;
    },
  };
}

function groupByWay<C extends HeldCall>(calls: readonly C[]): Map<string, C[]> {
  const ways = new Map<string, C[]>();
  for (const call of calls) ways.set(call.breaker, [...(ways.get(call.breaker) ?? []), call]);
  return ways;
}

const messageOf = (call: HeldCall, link: string | undefined): OutgoingMessage => ({
  key: call.key,
  kind: call.kind,
  priority: call.priority,
  ...(call.alertId === undefined ? {} : { alertId: call.alertId }),
  createdAtMs: call.createdAtMs,
  subject: call.body.subject,
  text: call.body.text,
  ...(link === undefined ? {} : { link }),
  address: call.channel.address,
  keys: call.channel.keys,
});
