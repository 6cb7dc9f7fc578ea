import type { Diagnosis } from '@duskline/domain';
import { causesOfPower } from './power/index.ts';
import type { PowerSeen } from './seen-of-power.ts';
import { weighCauses } from './weigh-causes.ts';

/** Ranks why a node charges worse or spends more than it did: evidence for and against, and what settles it. */
export const diagnosePower = (seen: PowerSeen): Diagnosis =>
  weighCauses('power', causesOfPower, seen);
