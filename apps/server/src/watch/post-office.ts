import { createSender, type SendPoint } from '@duskline/notify';
import { alertId, HOUR_MS, MINUTE_MS, SECOND_MS } from '@duskline/domain';
import type { ClaimedCall, Store } from '@duskline/store';
import { createHash, randomBytes } from 'node:crypto';
import type { Logger } from 'pino';
import { callPeople } from './call-people.ts';
import { writeRegularMail } from './regular-mail.ts';
import type { WaysOut } from './ways-out.ts';

export interface PostOffice {
  /** One round of everything, for tests and drills. */
  readonly turn: () => Promise<void>;
  readonly stop: () => Promise<void>;
}

export interface PostOfficeDeps {
  readonly store: Store;
  readonly waysOut: Pick<WaysOut, 'channels' | 'kinds'>;
  readonly holder: string;
  readonly now: () => number;
  readonly random: () => number;
  readonly log: Logger;
  /** Where people reach this server; undefined: messages carry no link. */
  readonly publicUrl?: string;
  /** For tests: how long a row is held; default that of the sender. */
  readonly leaseMs?: number;
  readonly onPoint?: (point: SendPoint, call: ClaimedCall) => void | Promise<void>;
}

const TURN_EVERY_MS = SECOND_MS;
const REGULAR_EVERY_MS = 5 * MINUTE_MS;
const LINK_LASTS_MS = 24 * HOUR_MS;
/** Deliveries that hang hold their turn; so many may hang at once. */
const TURNS_AT_ONCE = 12;

/** Makes messages of what is due and sends them, every second; with others doing the same beside it. */
export function openPostOffice(deps: PostOfficeDeps): PostOffice {
  const { store, now, log } = deps;
  const sender = createSender<ClaimedCall>({
    outbox: store.outbox,
    channels: deps.waysOut.channels,
    holder: deps.holder,
    now,
    random: deps.random,
    linkFor: (call) => linkFor(deps, call),
    ...(deps.leaseMs === undefined ? {} : { leaseMs: deps.leaseMs }),
    ...(deps.onPoint === undefined ? {} : { onPoint: deps.onPoint }),
    onSettled: (call, delivery) => {
      if (delivery.kind !== 'sent')
        log.warn(
          { key: call.key, way: call.breaker, error: delivery.error },
          'a message was not delivered',
        );
    },
  });
  const calls = { store, now, kinds: deps.waysOut.kinds };
  let regularAtMs = -Infinity;
  const running = new Set<Promise<void>>();
  let calling: Promise<void> | undefined;

  const call = async () => {
    await callPeople(calls);
    if (now() - regularAtMs < REGULAR_EVERY_MS) return;
    regularAtMs = now();
    await writeRegularMail(calls);
  };
  const said = (cause: unknown) =>
    log.error({ cause }, 'messages could not be seen to; tried again');
  const timer = setInterval(() => {
    calling ??= call()
      .catch(said)
      .finally(() => (calling = undefined));
    if (running.size >= TURNS_AT_ONCE) return;
    const one: Promise<void> = sender
      .turn()
      .then(() => undefined, said)
      .finally(() => running.delete(one));
    running.add(one);
  }, TURN_EVERY_MS);

  return {
    async turn() {
      await call();
      await sender.turn();
    },
    async stop() {
      clearInterval(timer);
      await calling;
      await Promise.all(running);
    },
  };
}

/** A link that takes the alert: 128 bits, kept as a hash, for a day, for one use. */
async function linkFor(
  { store, now, publicUrl }: PostOfficeDeps,
  call: ClaimedCall,
): Promise<string | undefined> {
  if (publicUrl === undefined) return undefined;
  if (call.kind === 'flood') return new URL('/watch', publicUrl).href;
  if (call.kind !== 'call' || call.alertId === undefined) return undefined;
  const id = alertId(call.alertId);
  if ((await store.alerts.find(id)) === undefined) return undefined;
  const token = randomBytes(16).toString('base64url');
  await store.outbox.makeLink({
    tokenHash: createHash('sha256').update(token).digest(),
    alertId: id,
    personId: call.personId,
    expiresAtMs: now() + LINK_LASTS_MS,
  });
  return new URL(`/a/${token}`, publicUrl).href;
}
