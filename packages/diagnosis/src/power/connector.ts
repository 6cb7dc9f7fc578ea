import { sayPercent } from '@duskline/domain';
import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';
import { recentMean } from './recent-days.ts';

/** A loose plug holds on calm days: days of the last five on which the voltage was away for part of the daylight. */
export const daysWithoutVoltage = ({ days }: PowerSeen): number =>
  days.slice(-5).filter(({ voltageShare }) => voltageShare !== undefined && voltageShare < 0.93)
    .length;

export const sayGone = (hours: number): string =>
  `The panel’s voltage has been gone for the last ${hours} bright hours, up to now`;

/** The panel is parted from the charger, wholly or with every gust. */
export const connector: Cause<PowerSeen> = {
  cause: 'connector',
  name: 'panel connector failed',
  commonness: 0.8,
  weigh(seen) {
    if (seen.voltageGoneHours !== undefined)
      return [{ weight: 6, says: sayGone(seen.voltageGoneHours) }];
    const power = recentMean(seen, ({ powerShare }) => powerShare, 2);
    if (power === undefined) return undefined;
    const gone = daysWithoutVoltage(seen);
    if (power >= 0.7 && gone >= 2)
      return [
        {
          weight: 5,
          says: `The panel’s voltage was missing in daylight on ${gone} of the last 5 days, and is back now`,
        },
      ];
    const evidence = [
      power < 0.15
        ? { weight: 2.5, says: `Power came in ${sayPercent(power)} of the bright hours` }
        : power < 0.7
          ? { weight: 1.5, says: `Power came in only ${sayPercent(power)} of the bright hours` }
          : { weight: -5, says: `Power came in ${sayPercent(power)} of the bright hours` },
    ];
    const volts = recentMean(seen, ({ voltageShare }) => voltageShare, 2);
    if (volts !== undefined)
      evidence.push(
        volts < 0.25
          ? { weight: 3.5, says: 'The panel’s voltage is gone in daylight' }
          : volts < 0.85
            ? {
                weight: 2,
                says: `The panel’s voltage comes and goes: there in ${sayPercent(volts)} of the daylight`,
              }
            : { weight: -4, says: 'The panel’s voltage is there' },
      );
    const flips = recentMean(seen, (day) => day.flips, 2) ?? 0;
    if (flips >= 2)
      evidence.push({ weight: 1.5, says: `Power came and went ${flips.toFixed(0)} times a day` });
    if (seen.snowLikely === true && (volts === undefined || volts > 0.5))
      evidence.push({ weight: -1.5, says: 'Snow is likely and would look alike' });
    return evidence;
  },
  settledBy: 'a meter at the connector: voltage on the panel side, none on the charger side',
};
