import { HOUR_MS, MINUTE_MS, sayMoment } from '@duskline/domain';
import { defineRule, setting } from '../rule.ts';

/** Possible theft: the panel gone in one step in daylight, or the box opened or moved, and then silence. */
export const tamper = defineRule({
  key: 'tamper',
  name: 'Possible theft or tampering',
  why: 'Loss, and the safety of people.',
  who: 'coordinator, at once by day',
  settings: {
    silentMinutes: setting(20, 'min', [5, 240], 'silence after it that makes it serious'),
    withinHours: setting(1, 'h', [0.25, 12], 'the silence must begin within so long'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 2 },
  quietUnder: ['not-ours'],
  evaluate(facts, { silentMinutes, withinHours }) {
    const { nowMs, site, lastHeardAtMs, housekeeping, visitUnderWay } = facts;
    if (visitUnderWay === true) return { kind: 'quiet', why: 'A visit is under way.' };
    const seen = housekeeping?.tamper;
    const silentMs = nowMs - (lastHeardAtMs ?? nowMs);
    if (seen === undefined || silentMs < silentMinutes * MINUTE_MS)
      return silentMs < silentMinutes * MINUTE_MS
        ? { kind: 'clear', why: 'It is heard.' }
        : { kind: 'undecided' };
    if ((lastHeardAtMs ?? 0) - seen.atMs > withinHours * HOUR_MS) return { kind: 'undecided' };
    return {
      kind: 'holds',
      priority: 'P1',
      text: {
        sentence: `${site.name} may have been taken or tampered with.`,
        figures: `${seen.says} at ${sayMoment(seen.atMs, site.timeZone)}; silent since ${sayMoment(lastHeardAtMs ?? nowMs, site.timeZone)}.`,
        byWhen: 'now',
        todo: 'Telephone the land-owner; if they know of nothing, the police. Confront nobody. Go only if they say so, never alone.',
        bring: 'serial numbers of the parts; camera',
        cautions: [
          'Do not confront anybody. Leave, and report.',
          'This is not a risk assessment: follow local law and what the police say.',
        ],
      },
    };
  },
});
