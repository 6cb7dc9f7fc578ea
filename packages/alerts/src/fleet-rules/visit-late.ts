import { MINUTE_MS, sayDuration, sayMoment } from '@duskline/domain';
import { defineFleetRule, type FleetFacts } from '../fleet-rule.ts';
import { setting } from '../rule.ts';

/** Somebody set out to a site and has not said that they are back. It calls people of the house, and nobody else. */
export const visitLate = defineFleetRule({
  key: 'visit-late',
  name: 'Not back from a visit',
  why: 'Somebody may be in need.',
  who: 'coordinator, at once',
  settings: {
    graceMinutes: setting(15, 'min', [0, 240], 'after the time they gave'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate: ({ visitsOut = [], nowMs }, { graceMinutes }) =>
    visitsOut.map((visit) =>
      nowMs - visit.backByMs < graceMinutes * MINUTE_MS
        ? ({
            kind: 'clear',
            subject: visit.subject,
            why: 'They are not late, or said they need longer.',
          } as const)
        : ({
            kind: 'holds',
            subject: visit.subject,
            priority: 'P1',
            covers: [],
            text: lateText(visit, nowMs),
          } as const),
    ),
});

function lateText(visit: NonNullable<FleetFacts['visitsOut']>[number], nowMs: number) {
  const { who, siteNames, companions, phone, timeZone } = visit;
  const places = siteNames.join(', ');
  return {
    sentence: `${who} has not reported back from ${places}.`,
    figures: `Set out ${sayMoment(visit.setOutAtMs, timeZone)}, back expected ${sayMoment(visit.backByMs, timeZone)}, ${sayDuration(nowMs - visit.backByMs)} ago. ${companions === '' ? 'Alone, as far as is known' : `With ${companions}`}.`,
    byWhen: 'now',
    todo: `Telephone ${who}${phone === '' ? '' : ` (${phone})`}${companions === '' ? '' : `, ${companions}`}, then who lives near. No answer: call the emergency services. This is no emergency service.`,
    bring: 'their route, and where they meant to park',
    cautions: [
      'Duskline is no emergency service, and nobody but you has been told.',
      'Do not go after them alone, in the dark or on to ice or water.',
      'This is not a risk assessment: follow what the emergency services say.',
    ],
  };
}
