import type { PowerSeen } from '../seen-of-power.ts';
import type { Cause } from '../weigh-causes.ts';

/** The panel turned or tilted: the day's peak moved in one step. */
export const panelMoved: Cause<PowerSeen> = {
  cause: 'panel-moved',
  name: 'panel moved or turned',
  commonness: 0.4,
  weigh({ days, notch, afternoonGain }) {
    const shifts = days.flatMap(({ centroidShiftH }) => centroidShiftH ?? []);
    if (shifts.length < 4) return undefined;
    const recent = middle(shifts.slice(-3));
    const before = middle(shifts.slice(0, -3).slice(-14));
    const moved = recent - before;
    const says = `The middle of its day came ${Math.abs(moved).toFixed(1)} h ${moved > 0 ? 'later' : 'earlier'} than before`;
    const evidence = [
      { weight: Math.abs(moved) > 0.9 ? 4.5 : Math.abs(moved) > 0.5 ? 2.5 : -3.5, says },
    ];
    if (afternoonGain !== undefined) {
      const turned = Math.max(afternoonGain, 1 / afternoonGain);
      const side = afternoonGain > 1 ? 'afternoons' : 'mornings';
      evidence.push({
        weight: turned > 1.5 ? 3 : turned > 1.25 ? 1.5 : -1.5,
        says: `Its ${side} gained ${Math.round((turned - 1) * 100)} % on the other half of the day`,
      });
    }
    if (notch !== undefined)
      evidence.push(
        notch.outside > 1.1
          ? { weight: 1.5, says: 'It gives less at one end of the day and more at the other' }
          : { weight: -2, says: 'A notch at one bearing explains it too' },
      );
    return evidence;
  },
  settledBy: 'a look at the mount, and a compass',
};

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}
