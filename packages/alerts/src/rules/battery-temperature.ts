import { MINUTE_MS } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { defineRule, setting } from '../rule.ts';
import { freshValue } from '../rule-facts.ts';

const isLithium = (chemistry: string) => chemistry.startsWith('li');

/** Battery charged while too cold, or dangerously hot: damage and danger. Told even while the site is off for work. */
export const batteryTemperature = defineRule({
  key: 'battery-temperature',
  name: 'Battery charged too cold, or too hot',
  why: 'Charging a lithium cell below 0 °C damages it and is a danger; above 60 °C a cell may run away.',
  who: 'coordinator, today; at once when charged below 0 °C or above 60 °C',
  settings: {
    coldC: setting(0, '°C', [-30, 10], 'charging at or below it is dangerous for lithium'),
    hotC: setting(60, '°C', [45, 80], 'a cell above it is dangerous'),
    warmC: setting(45, '°C', [30, 60], 'charging above it ages the battery'),
    backC: setting(2, '°C', [0, 10], 'so far back before it is over'),
  },
  onDelay: { ms: 10 * MINUTE_MS, runs: 2 },
  offDelay: { ms: 30 * MINUTE_MS, runs: 2 },
  evenOffForWork: true,
  evaluate(facts, { coldC, hotC, warmC, backC }) {
    const { site, node } = facts;
    const celsius = freshValue(facts, 'batt_temp');
    const currentA = freshValue(facts, 'batt_i');
    if (celsius === undefined) return { kind: 'undecided' };
    // A hundredth of the capacity an hour is more than an offset of the meter.
    const nominalV =
      node.power.battery.seriesCells * (isLithium(node.power.battery.chemistry) ? 3.3 : 2);
    const isCharging =
      currentA !== undefined && currentA > (0.01 * node.power.battery.ratedWh) / nominalV;
    const lithium = isLithium(node.power.battery.chemistry);
    const cold = lithium && isCharging && celsius < coldC;
    const hot = celsius > hotC;
    const warm = isCharging && celsius > warmC;
    if (!cold && !hot && !warm) {
      const safe = celsius >= coldC + backC && celsius <= warmC - backC;
      return safe || !isCharging
        ? {
            kind: 'clear',
            why: `Battery at ${celsius.toFixed(1)} °C${isCharging ? '' : ', not charging'}.`,
          }
        : { kind: 'undecided' };
    }
    const what = hot
      ? `is at ${celsius.toFixed(1)} °C`
      : `is being charged at ${celsius.toFixed(1)} °C`;
    return {
      kind: 'holds',
      priority: cold || hot ? 'P1' : 'P2',
      text: {
        sentence: `${site.name}’s battery ${what}.`,
        figures: `${hot ? '' : `Charged with ${currentA?.toFixed(2)} A. `}Limit ${hot ? hotC : cold ? coldC : warmC} °C; chemistry ${node.power.battery.chemistry.replaceAll('-', ' ')}.`,
        byWhen: cold || hot ? 'now' : 'today',
        todo: hot
          ? 'Keep everybody away from it. Do not open the box. If it smokes or hisses call the fire service.'
          : 'Stop the charge from home if you can. Check temperature sensor and battery protection.',
        bring: hot
          ? 'nothing: do not go near it'
          : 'thermometer; meter; tested battery with protection',
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});
