import { DAY_MS, metricCatalogue, sayPercent } from '@duskline/domain';
import { quietUnlessHeard } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Sensor stuck, out of range or drifting: a fifth of its day failed the tests. */
export const sensorFault = defineRule({
  key: 'sensor-fault',
  name: 'Sensor stuck, out of range or drifting',
  why: 'Data are lost.',
  who: 'analyst today, builder on the next visit',
  settings: {
    badPercent: setting(20, '%', [1, 100], 'share of a day’s readings that failed or are suspect'),
    backPercent: setting(5, '%', [0, 50], 'share below which it is over'),
  },
  onDelay: { ms: DAY_MS, runs: 2 },
  offDelay: { ms: DAY_MS, runs: 2 },
  evaluate(facts, { badPercent, backPercent }) {
    const quiet = quietUnlessHeard(facts);
    if (quiet !== undefined) return { kind: 'undecided' };
    const sensors = facts.housekeeping?.sensors;
    if (sensors === undefined) return { kind: 'undecided' };
    const worst = [...sensors].sort((a, b) => b.badShare - a.badShare)[0];
    const drifting = sensors.find(({ drifts }) => drifts === true);
    const named = worst !== undefined && worst.badShare * 100 > badPercent ? worst : drifting;
    if (named === undefined)
      return (worst?.badShare ?? 0) * 100 <= backPercent
        ? { kind: 'clear', why: 'Its readings pass the tests again.' }
        : { kind: 'undecided' };
    const label = metricCatalogue[named.metric].label;
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: `${facts.site.name}: ${label} cannot be trusted (${sayPercent(named.badShare)} failed).`,
        figures: `${sayPercent(named.badShare)} of the last day’s readings failed: ${named.why}.`,
        byWhen: 'on the next visit',
        todo: 'Check, clean or change the sensor; compare with a reference, write both down.',
        bring: bringForRule('sensor-fault', facts),
        cautions: [],
      },
    };
  },
});
