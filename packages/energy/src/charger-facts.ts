import type { PowerSystem } from '@duskline/domain';

export interface ChargerFacts {
  /** Energy out per energy taken from the panel, 0 … 1. */
  readonly efficiency: number;
  /** What the panel gives at the voltage the charger holds it at, as a share of its best working point. */
  readonly panelShare: number;
}

/**
 * What stands between panel and battery.
 *
 * A tracker keeps the panel at its best point and converts, with a small loss. A direct (switched or linear) charger converts
 * nothing, but pulls the panel down to battery voltage: 13 V of 17.5 V. The panel sensor already reads that lower power, so in
 * a learnt yield ratio `panelShare` is absorbed; only a forecast without history, and a simulator, apply it.
 *
 * @source efficiency of a tracker: 92–95 % in a charge controller's manual, 0.95 taken; share of a direct charger: [M] 0.72–0.78
 */
export function chargerOf(kind: PowerSystem['charger']): ChargerFacts {
  return kind === 'mppt'
    ? { efficiency: 0.95, panelShare: 1 }
    : { efficiency: 1, panelShare: 0.75 };
}
