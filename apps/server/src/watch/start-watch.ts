import type { WatchPorts } from '@duskline/api';
import { DAY_MS, HOUR_MS, MINUTE_MS, sayDuration } from '@duskline/domain';
import type { Store } from '@duskline/store';
import type { VapidKeys } from '@duskline/notify';
import type { Logger } from 'pino';
import type { Config } from '../config.ts';
import { serverId } from '../server-id.ts';
import { outlookLagMs } from '../outlook-lag.ts';
import { startHeartbeat } from './heartbeat.ts';
import { openPostOffice, type PostOfficeDeps } from './post-office.ts';
import { createWatchDesk } from './watch-desk.ts';
import { openWaysOut } from './ways-out.ts';

export interface Watch {
  readonly desk: WatchPorts;
  /** Messages begin to go out, and the heart to beat, once it is known where people reach this server. */
  readonly open: (publicUrl: string) => void;
  readonly stop: () => Promise<void>;
}

const OUTLOOK_LATE_MS = DAY_MS + 2 * HOUR_MS;
const UNSENT_LATE_MS = 10 * MINUTE_MS;
const SWEEP_LATE_MS = MINUTE_MS;

/** The role `watch`: who is called, by what, and whether this server is well enough to call anybody. */
export function startWatch(
  config: Config,
  about: {
    readonly store: Store;
    readonly vapid: VapidKeys;
    readonly now: () => number;
    readonly log: Logger;
    readonly sweepAgeMs: () => number;
    readonly lineFault: () => string | undefined;
    readonly onSendPoint?: PostOfficeDeps['onPoint'];
  },
): Watch {
  const { store, now, log } = about;
  const waysOut = openWaysOut(config, about.vapid, now);
  const stops: (() => void | Promise<void>)[] = [() => waysOut.close()];
  const heartbeatUrl = config.notify?.heartbeatUrl;
  return {
    desk: createWatchDesk(store, { waysOut, now }),
    open(publicUrl) {
      const office = openPostOffice({
        store,
        waysOut,
        holder: serverId(config.dataDir),
        now,
        random: Math.random,
        log,
        publicUrl,
        ...(about.onSendPoint === undefined ? {} : { onPoint: about.onSendPoint }),
      });
      stops.push(() => office.stop());
      if (heartbeatUrl === undefined) return;
      const heart = startHeartbeat({ url: heartbeatUrl, checks: checksOf(about), log });
      stops.push(() => heart.stop());
    },
    async stop() {
      for (const stop of [...stops].reverse()) await stop();
    },
  };
}

/** Intake, forecast and outbox: without any of these nobody would be called in time. */
function checksOf({
  store,
  now,
  sweepAgeMs,
  lineFault,
}: Parameters<typeof startWatch>[1]): readonly (() => Promise<string | undefined>)[] {
  return [
    () => Promise.resolve(lineFault()),
    () =>
      Promise.resolve(
        sweepAgeMs() > SWEEP_LATE_MS
          ? `The last sweep ended ${sayDuration(sweepAgeMs())} ago.`
          : undefined,
      ),
    async () => {
      const oldest = outlookLagMs(await store.signs.fleet(now()), now()) ?? 0;
      return oldest > OUTLOOK_LATE_MS ? `An outlook is ${sayDuration(oldest)} behind.` : undefined;
    },
    async () => {
      const unsentMs = (await store.outbox.oldestUnsentMs(now())) ?? 0;
      return unsentMs > UNSENT_LATE_MS
        ? `A message has waited ${sayDuration(unsentMs)}.`
        : undefined;
    },
  ];
}
