import { defineRule, setting } from '../rule.ts';

/** Too cold or too hot to be charged: normal in winter, written down because it explains a low harvest. */
export const chargeBlocked = defineRule({
  key: 'charge-blocked',
  name: 'Too cold or too hot to be charged',
  why: 'Explains a low harvest.',
  who: 'nobody',
  settings: {
    raiseAtPercent: setting(50, '%', [30, 95], 'probability at which it is written down'),
  },
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: 0, runs: 1 },
  evaluate({ power, site }, { raiseAtPercent }) {
    const likely = power?.causes[0];
    if (likely === undefined) return { kind: 'undecided' };
    if (
      (likely.cause !== 'too-cold' && likely.cause !== 'too-hot') ||
      likely.probability < raiseAtPercent / 100
    )
      return { kind: 'clear', why: 'Charging is not blocked.' };
    return {
      kind: 'record',
      event: 'charge-blocked',
      sentence: `${site.name}: ${likely.name}. ${likely.evidenceFor[0] ?? ''}.`,
    };
  },
});
