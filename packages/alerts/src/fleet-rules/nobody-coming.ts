import { MINUTE_MS, sayDuration } from '@duskline/domain';
import { defineFleetRule, type FleetFacts } from '../fleet-rule.ts';
import { setting } from '../rule.ts';

/** Nobody coming: a gap in the rota ahead, or an alert nobody took in its time. */
export const nobodyComing = defineFleetRule({
  key: 'nobody-coming',
  name: 'Rota gap, or nobody took it',
  why: 'Nobody is coming.',
  who: 'coordinator: fill, or take it',
  settings: {
    p1Minutes: setting(15, 'min', [2, 240], 'a P1 not taken for so long'),
    p2WakingHours: setting(4, 'h', [0.5, 48], 'a P2 not taken for so many waking hours'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate: (facts, values) => [...rotaGap(facts), ...untaken(facts, values)],
});

function rotaGap({ rotaGap }: FleetFacts) {
  if (rotaGap === undefined)
    return [{ kind: 'clear', subject: 'rota', why: 'The rota is covered.' } as const];
  return [
    {
      kind: 'holds',
      subject: 'rota',
      priority: 'P2',
      covers: [],
      text: {
        sentence: 'Nobody is on call for a stretch ahead.',
        figures: rotaGap.says,
        byWhen: 'before it begins',
        todo: 'Ask somebody, or take the shift; alerts go straight to you meanwhile.',
        bring: 'nothing: this is done from home',
        cautions: [],
      },
    } as const,
  ];
}

function untaken(
  { untaken: waiting }: FleetFacts,
  { p1Minutes, p2WakingHours }: { readonly p1Minutes: number; readonly p2WakingHours: number },
) {
  return waiting.flatMap(({ alert, siteName, wakingMs }) => {
    const limitMs =
      alert.priority === 'P1' ? p1Minutes * MINUTE_MS : p2WakingHours * 60 * MINUTE_MS;
    if (alert.priority === 'P3' || wakingMs < limitMs) return [];
    return [
      {
        kind: 'holds',
        subject: alert.id,
        priority: 'P2',
        covers: [],
        text: {
          sentence: `Nobody has taken the alert of ${siteName}.`,
          figures: `It has waited ${sayDuration(wakingMs)} (${alert.priority}).`,
          byWhen: 'now',
          todo: 'Take it, or hand it to somebody who answers.',
          bring: 'see the alert',
          cautions: [],
        },
      } as const,
    ];
  });
}
