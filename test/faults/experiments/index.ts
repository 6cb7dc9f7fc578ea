import type { Experiment } from '../experiment.ts';
import { weekAway } from './e00-week-away.ts';
import { killIngest } from './e01-kill-ingest.ts';
import { pgKill } from './e02-pg-kill.ts';
import { brokerKill } from './e03-broker-kill.ts';
import { diskFull } from './e04-disk-full.ts';
import { netCut } from './e05-net-cut.ts';
import { slowDb } from './e06-slow-db.ts';
import { clockJump } from './e07-clock-jump.ts';
import { backlogFlood } from './e08-backlog-flood.ts';
import { dupStorm } from './e09-dup-storm.ts';
import { fuzzPayload } from './e10-fuzz-payload.ts';
import { alertHa } from './e11-alert-ha.ts';
import { smtpDown } from './e12-smtp-down.ts';
import { webhookBad } from './e13-webhook-bad.ts';
import { coldStart } from './e14-cold-start.ts';
import { powerLoss } from './e19-power-loss.ts';
import { failNth } from './e21-fail-nth.ts';
import { resourceCap } from './e23-resource-cap.ts';
import { noisyNode } from './e24-noisy-node.ts';

/** In the order in which they run. */
export const experiments: readonly Experiment[] = [
  weekAway,
  killIngest,
  pgKill,
  brokerKill,
  diskFull,
  netCut,
  slowDb,
  clockJump,
  backlogFlood,
  dupStorm,
  fuzzPayload,
  alertHa,
  smtpDown,
  webhookBad,
  coldStart,
  powerLoss,
  failNth,
  resourceCap,
  noisyNode,
];
