import { join } from 'node:path';
import { SECOND_MS } from '@duskline/domain';
import { createLogFollower } from './log-follower.ts';
import type { NodeConfig } from './node-config.ts';
import { openPublisher } from './publisher.ts';
import { openRejectedLines } from './rejected-lines.ts';
import { openSettingsDesk } from './settings-desk.ts';

export interface RunningNode {
  /** Sends what is left as far as that goes, says farewell, hangs up. Resolves with whether the broker has the farewell. */
  readonly stop: () => Promise<boolean>;
}

const LOOK_EVERY_MS = 1000;
const FAREWELL_WITHIN_MS = 8000;

/** Follows the log until stopped. Whatever goes wrong on the way is reported and tried again. */
export function runNode(options: {
  readonly config: NodeConfig;
  readonly secret: string;
  readonly ca: string | undefined;
  readonly onFault: (reason: string) => void;
}): RunningNode {
  const { config, secret, ca, onFault } = options;
  const { node, broker } = config;
  const desk = openSettingsDesk({
    own: config.settings,
    stateDir: config.stateDir,
    onChange: () => publisher.confirmSettings(),
    onFault,
  });
  /** By a clock that nobody sets. */
  let publishedAtMs = -Infinity;
  let moreWaits = false;
  const publisher = openPublisher({
    node,
    broker,
    secret,
    ca,
    spoolDir: join(config.stateDir, 'spool'),
    onFault,
    onSettings: desk.receive,
    settingsInForce: desk.inForce,
    onRoom: () => {
      if (moreWaits) look();
    },
  });
  const follower = createLogFollower({
    config,
    publisher,
    rejected: openRejectedLines(config.stateDir, onFault),
    onFault,
  });
  const look = () => {
    try {
      publishedAtMs = performance.now();
      const { rejected } = follower.step();
      moreWaits = !publisher.hasRoom();
      if (rejected > 0) onFault('some lines could not be used; rejected.txt says which and why');
    } catch (cause) {
      onFault(`${(cause as Error).message}; tried again in a moment`);
    }
  };
  const timer = setInterval(() => {
    desk.look();
    // Half a look early rather than a whole one late.
    const dueMs = publishedAtMs + desk.publishEveryS() * SECOND_MS - LOOK_EVERY_MS / 2;
    if (moreWaits || performance.now() >= dueMs) look();
  }, LOOK_EVERY_MS);

  return {
    stop() {
      clearInterval(timer);
      look();
      return publisher.farewell({
        reason: config.farewell,
        chargeRatio: follower.chargeRatio(),
        withinMs: FAREWELL_WITHIN_MS,
      });
    },
  };
}
