import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';
import { awakePattern } from './awake-pattern.ts';
import { broken } from './broken.ts';
import { clockReset } from './clock-reset.ts';
import { darkDeclared } from './dark-declared.ts';
import { darkInferred } from './dark-inferred.ts';
import { dataCap } from './data-cap.ts';
import { linkOne } from './link-one.ts';
import { linkShared } from './link-shared.ts';
import { ourSide } from './our-side.ts';
import { theft } from './theft.ts';

/** Every cause of a silence. */
export const causesOfSilence: readonly Cause<SilenceSeen>[] = [
  darkDeclared,
  darkInferred,
  broken,
  linkOne,
  linkShared,
  dataCap,
  theft,
  ourSide,
  clockReset,
  awakePattern,
];
