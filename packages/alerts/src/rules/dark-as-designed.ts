import { defineRule } from '../rule.ts';

/** Dark as designed: explains a silence; nobody need act. */
export const darkAsDesigned = defineRule({
  key: 'dark-as-designed',
  name: 'Dark as designed',
  why: 'Explains the silence.',
  who: 'nobody; the site page shows when it is expected back',
  settings: {},
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate({ verdict }) {
    if (verdict.state === 'dark-as-designed')
      return {
        kind: 'record',
        event: 'dark-as-designed',
        sentence: `${verdict.cause}${verdict.settledBy === undefined ? '' : ` Settled by ${verdict.settledBy}.`}`,
      };
    // Overdue is the same darkness going on.
    return verdict.state === 'overdue' || verdict.state === 'link-down'
      ? { kind: 'undecided' }
      : { kind: 'clear', why: 'It is not dark.' };
  },
});
