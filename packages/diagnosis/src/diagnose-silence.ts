import type { Diagnosis } from '@duskline/domain';
import type { SilenceSeen } from './seen-of-silence.ts';
import { causesOfSilence } from './silence/index.ts';
import { weighCauses } from './weigh-causes.ts';

/** Ranks why a silent node is silent: what speaks for and against each cause, what settles it and when. */
export const diagnoseSilence = (seen: SilenceSeen): Diagnosis =>
  weighCauses('silence', causesOfSilence, seen);
