import { DAY_MS, type Outlook } from '@duskline/domain';
import { visitCautions } from '../cautions.ts';
import { quietWhileAccepted } from '../heard-state.ts';
import { defineRule, setting } from '../rule.ts';
import { visitForCause } from './visit-for-cause.ts';
import { bringForRule } from '../rounds/bring-for-rule.ts';

/** Restart level out of reach: the harvest does not outweigh the draw of the node that is off; it will not come back alone. */
export const restartOutOfReach = defineRule({
  key: 'restart-out-of-reach',
  name: 'Restart level out of reach',
  why: 'It will not come back by itself.',
  who: 'coordinator, within 3 days',
  settings: { darkDays: setting(1, 'days', [0, 14], 'days of darkness before it is judged') },
  onDelay: { ms: 6 * 3_600_000, runs: 3 },
  offDelay: { ms: 0, runs: 2 },
  evidenceAtMs: ({ outlook }) => outlook?.issuedAtMs,
  evaluate(facts, { darkDays }) {
    const { verdict, outlook, site, node, nowMs } = facts;
    if (verdict.state === 'up' || verdict.state === 'low')
      return { kind: 'clear', why: 'It is back.' };
    const quiet = quietWhileAccepted(facts);
    if (quiet !== undefined) return quiet;
    const back = outlook !== undefined && 'back' in outlook ? outlook.back : undefined;
    if (outlook === undefined || back === undefined || nowMs - verdict.sinceMs < darkDays * DAY_MS)
      return { kind: 'undecided' };
    if (back.kind === 'expected-back')
      return { kind: 'clear', why: 'Its restart level is in reach again.' };
    const { restartRatio, offStateDrawW } = node.power;
    return {
      kind: 'holds',
      priority: 'P3',
      text: {
        sentence: `${site.name} will not come back by itself.`,
        figures: `${why(outlook, `its restart level of ${Math.round(restartRatio * 100)} %`)}; it draws ${(offStateDrawW * 24).toFixed(1)} Wh a day while off.`,
        byWhen: 'within three days',
        todo: 'Bring a charged battery, lower its restart level or off-state draw; or accept the gap until a date.',
        bring: bringForRule('restart-out-of-reach', facts),
        ...visitForCause(facts),
        cautions: visitCautions(node.power.battery.chemistry),
      },
    };
  },
});

function why(outlook: Outlook, level: string): string {
  const { harvestStop, horizonDays } = outlook;
  return harvestStop === undefined
    ? `Its harvest does not carry it to ${level} within the ${horizonDays} days of the latest outlook`
    : `Nothing comes in that could carry it to ${level}: most likely ${harvestStop.cause}`;
}
