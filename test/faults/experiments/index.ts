import type { Experiment } from '../experiment.ts';
import { weekAway } from './e00-week-away.ts';
import { killIngest } from './e01-kill-ingest.ts';
import { pgKill } from './e02-pg-kill.ts';
import { brokerKill } from './e03-broker-kill.ts';
import { netCut } from './e05-net-cut.ts';
import { slowDb } from './e06-slow-db.ts';
import { backlogFlood } from './e08-backlog-flood.ts';
import { dupStorm } from './e09-dup-storm.ts';
import { fuzzPayload } from './e10-fuzz-payload.ts';
import { failNth } from './e21-fail-nth.ts';
import { noisyNode } from './e24-noisy-node.ts';

/** In the order in which they run. */
export const experiments: readonly Experiment[] = [
  weekAway,
  killIngest,
  pgKill,
  brokerKill,
  netCut,
  slowDb,
  backlogFlood,
  dupStorm,
  fuzzPayload,
  failNth,
  noisyNode,
];
