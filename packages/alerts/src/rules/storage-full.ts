import { DAY_MS } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Storage nearly full, read-only or failing: the log is about to be lost. */
export const storageFull = defineRule({
  key: 'storage-full',
  name: 'Storage nearly full or failing',
  why: 'The log is lost; the card is dying.',
  who: 'coordinator, within 3 days; on-call volunteer today when it fails',
  settings: {
    raiseDays: setting(21, 'days', [1, 120], 'days until full below which it is raised'),
    clearDays: setting(45, 'days', [2, 400], 'days above which it is over'),
  },
  onDelay: { ms: 0, runs: 2 },
  offDelay: { ms: DAY_MS, runs: 2 },
  evaluate(facts, { raiseDays, clearDays }) {
    const { housekeeping, site } = facts;
    if (housekeeping === undefined) return { kind: 'undecided' };
    const { storageDaysToFull: days, storageErrors = 0, storageReadOnly } = housekeeping;
    const failing = storageReadOnly === true || storageErrors > 0;
    if (!failing && (days === undefined || days >= raiseDays))
      return days !== undefined && days > clearDays
        ? { kind: 'clear', why: `Room for ${Math.round(days)} days.` }
        : { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: failing ? 'P2' : 'P3',
      text: {
        sentence: failing
          ? `${site.name}’s memory card is failing (${storageReadOnly === true ? 'read-only' : `${storageErrors} write errors`}).`
          : `${site.name}’s memory card is full in ${Math.round(days ?? 0)} days.`,
        figures: failing
          ? `${storageReadOnly === true ? 'It is read-only. ' : ''}${storageErrors} write errors since its start.`
          : `Room for ${Math.round(days ?? 0)} days.`,
        byWhen: failing ? 'today' : 'within three days',
        todo: failing
          ? 'Bring what it still has home by air; then change the card.'
          : 'Let it rotate its log from home, or copy and clear the card on a visit.',
        bring: bringForRule('storage-full', facts),
        cautions: [],
      },
    };
  },
});
