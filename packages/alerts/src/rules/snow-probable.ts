import { defineRule, setting } from '../rule.ts';

/** Snow probably on the panel: explains a loss and lengthens the wait; the page shows it, nobody is called. */
export const snowProbable = defineRule({
  key: 'snow-probable',
  name: 'Snow probably on the panel',
  why: 'Explains a loss, and adds days.',
  who: 'coordinator looks; a visit only where the forecast says so',
  settings: {
    raiseAtPercent: setting(50, '%', [30, 95], 'probability at which it is written down'),
  },
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: 0, runs: 1 },
  evaluate({ power, site }, { raiseAtPercent }) {
    const likely = power?.causes[0];
    if (likely === undefined) return { kind: 'undecided' };
    if (likely.cause !== 'snow' || likely.probability < raiseAtPercent / 100)
      return { kind: 'clear', why: 'No snow is likely.' };
    return {
      kind: 'record',
      event: 'snow-probable',
      sentence: `Snow probably covers the panel at ${site.name}: ${likely.evidenceFor.slice(0, 2).join('; ')}. A soft brush from the ground; never climb.`,
    };
  },
});
