import { DAY_MS, sayPercent } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { isDarkForFault, quietUnlessHeard } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Chance at which snow may as well be it (our choice; the table: quiet when "snow probable"). */
const SNOW_AS_LIKELY = 0.3;

/** Charging fault: the sky offers, the battery could take, and nearly nothing comes. The battery runs down unseen. */
export const chargingFault = defineRule({
  key: 'charging-fault',
  name: 'Charging fault',
  why: 'The battery runs down unseen.',
  who: 'on-call volunteer, within 1–2 days',
  settings: { badDays: setting(2, 'days', [1, 3], 'bad days of the last three') },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate(facts, { badDays }) {
    // A small battery is empty before the second bad day is over: it is judged by what the last days had shown.
    const quiet = isDarkForFault(facts) ? undefined : quietUnlessHeard(facts);
    if (quiet !== undefined)
      return facts.verdict.state === 'dark-as-designed' ? { kind: 'undecided' } : quiet;
    const { figures, power, site, node } = facts;
    if (figures === undefined) return { kind: 'undecided' };
    const likely = power?.causes[0];
    if (
      likely !== undefined &&
      ['snow', 'battery-full', 'too-cold', 'too-hot'].includes(likely.cause)
    )
      return { kind: 'quiet', why: `Explained: ${likely.name}.` };
    // Snow leaves the panel its voltage and takes its power, as a dead charger does: the thaw tells, and nobody need go for that.
    const snow = power?.causes.find(({ cause }) => cause === 'snow')?.probability ?? 0;
    if (snow >= SNOW_AS_LIKELY) return { kind: 'undecided' };
    if (figures.badDays < badDays)
      return figures.goodDays >= 1 && figures.badDays === 0
        ? { kind: 'clear', why: 'It was charged again for a whole day.' }
        : { kind: 'undecided' };
    const evidence = likely?.evidenceFor.slice(0, 2).map((line) => `${line}.`) ?? [];
    return {
      kind: 'holds',
      priority: 'P2',
      text: {
        sentence:
          likely === undefined
            ? `${site.name} is not being charged.`
            : `${site.name} is not being charged: most likely ${likely.name} (${sayPercent(likely.probability)}).`,
        figures: [
          `${figures.badDays} of the last 3 days brought nearly nothing.`,
          ...evidence,
        ].join(' '),
        byWhen: 'within two days',
        todo: 'Visit: connector, fuse, polarity, charger. Measure voltage on both sides of each.',
        bring: bringForRule('charging-fault', facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
  evidenceAtMs: ({ nowMs }) => Math.floor(nowMs / DAY_MS),
});
