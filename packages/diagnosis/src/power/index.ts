import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { batteryAged } from './battery-aged.ts';
import { batteryFull } from './battery-full.ts';
import { tooCold, tooHot } from './blocked-by-temperature.ts';
import { charger } from './charger.ts';
import { connector } from './connector.ts';
import { nothingWrong } from './nothing-wrong.ts';
import { panelMoved } from './panel-moved.ts';
import { shade } from './shade.ts';
import { snow } from './snow.ts';
import { soiling } from './soiling.ts';
import { stuckAwake } from './stuck-awake.ts';
import { water } from './water.ts';

/** Every cause of poor charging or a high load. */
export const causesOfPower: readonly Cause<PowerSeen>[] = [
  nothingWrong,
  snow,
  soiling,
  shade,
  panelMoved,
  connector,
  charger,
  batteryFull,
  tooCold,
  tooHot,
  batteryAged,
  stuckAwake,
  water,
];
