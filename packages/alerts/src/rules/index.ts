import type { Rule } from '../rule.ts';
import { batteryAgeing } from './battery-ageing.ts';
import { batteryTemperature } from './battery-temperature.ts';
import { boxClimate } from './box-climate.ts';
import { chargeBlocked } from './charge-blocked.ts';
import { chargeLow } from './charge-low.ts';
import { chargingFault } from './charging-fault.ts';
import { clockWrong } from './clock-wrong.ts';
import { darkAsDesigned } from './dark-as-designed.ts';
import { dataCap } from './data-cap.ts';
import { firstLight } from './first-light.ts';
import { forecastLow } from './forecast-low.ts';
import { loadAbnormal } from './load-abnormal.ts';
import { overdue } from './overdue.ts';
import { repeatedRestarts } from './repeated-restarts.ts';
import { restartOutOfReach } from './restart-out-of-reach.ts';
import { sensorFault } from './sensor-fault.ts';
import { settingsNotInForce } from './settings-not-in-force.ts';
import { signalFailing } from './signal-failing.ts';
import { silentUnexplained } from './silent-unexplained.ts';
import { snowProbable } from './snow-probable.ts';
import { storageFull } from './storage-full.ts';
import { tamper } from './tamper.ts';
import { yieldLoss } from './yield-loss.ts';

/** Every rule about one node, in the order of the rationalisation table; those about the fleet are in ../fleet-rules. */
export const rules: readonly Rule[] = [
  chargeLow,
  forecastLow,
  darkAsDesigned,
  overdue,
  restartOutOfReach,
  silentUnexplained,
  tamper,
  dataCap,
  chargingFault,
  snowProbable,
  yieldLoss,
  batteryTemperature,
  chargeBlocked,
  loadAbnormal,
  batteryAgeing,
  sensorFault,
  clockWrong,
  storageFull,
  repeatedRestarts,
  boxClimate,
  signalFailing,
  settingsNotInForce,
  firstLight,
];
