import { everyRule, falsePushesOf, spokeWrongly, type DrillReport } from './judge-drill.ts';
import type { WorldOutcome } from './run-world.ts';

export const LIMITS = { topCauseRightShare: 0.85, pushesPerCauseMax: 1, falsePushes: 0 };

/**
 * What a must misses, in words.
 *
 * @param isWhole every case was lived through, so that every rule must have been seen
 */
export function missedBy(report: DrillReport, isWhole: boolean): readonly string[] {
  const unseen = (seen: readonly string[]) => everyRule.filter((key) => !seen.includes(key));
  const neverFired = isWhole ? unseen(report.rulesSeenFiring) : [];
  const neverSilent = isWhole ? unseen(report.rulesSeenSilent) : [];
  return [
    ...(neverFired.length > 0 ? [`never seen firing: ${neverFired.join(', ')}`] : []),
    ...(neverSilent.length > 0 ? [`not seen rightly silent: ${neverSilent.join(', ')}`] : []),
    ...(report.cases.length > 0 && report.topCauseRightShare < LIMITS.topCauseRightShare
      ? [
          `the right cause stood first in ${percent(report.topCauseRightShare)} of the cases, not in 85 %`,
        ]
      : []),
    ...(report.pushesPerCauseMax > LIMITS.pushesPerCauseMax
      ? [`one cause made ${report.pushesPerCauseMax} calls`]
      : []),
    ...(report.falsePushes > LIMITS.falsePushes
      ? [`${report.falsePushes} calls about what is as it should be`]
      : []),
    ...(report.pushesPerOnCallDay !== null && report.pushesPerOnCallDay > 1
      ? [`${report.pushesPerOnCallDay.toFixed(2)} calls a day`]
      : []),
    ...(report.nightWakeupsPerWeek !== null && report.nightWakeupsPerWeek > 1
      ? [`${report.nightWakeupsPerWeek.toFixed(2)} wake-ups a week`]
      : []),
  ];
}

/** The table, and what was wrong in full. */
export function printDrill(
  report: DrillReport,
  worlds: readonly WorldOutcome[],
  isWhole: boolean,
): void {
  const row = (...cells: readonly string[]) =>
    cells.map((cell, i) => cell.padEnd([20, 5, 15, 15, 5, 7, 0][i] ?? 0)).join(' ');
  say(row('case', 'seed', 'cause', 'ranked first', 'P', 'calls', 'of'));
  for (const one of report.cases)
    say(
      row(
        one.name,
        String(one.seed),
        one.cause,
        `${one.right ? '' : '✗ '}${one.rankedFirst ?? 'none'}`,
        one.probability?.toFixed(2) ?? '',
        String(one.pushes),
        one.rulesCalled.join(', '),
      ),
    );
  for (const world of worlds) {
    for (const { why, call } of falsePushesOf(world))
      say(`✗ ${why}: ${new Date(call.atMs).toISOString()} ${call.rule}, ${call.sentence}`);
    for (const { rule, sentence } of spokeWrongly(world))
      say(`✗ ${rule} spoke where it should be silent: ${sentence}`);
    for (const failure of world.failures.slice(0, 5)) say(`✗ ${world.plan.name}: ${failure}`);
    say(
      `${world.plan.name}, seed ${world.plan.seed}: ${world.looks} looks, ${(world.lookMs / Math.max(1, world.looks)).toFixed(0)} ms of wall time a look`,
    );
  }
  if (report.cases.length > 0)
    say(`right cause first: ${percent(report.topCauseRightShare)} of ${report.cases.length} cases`);
  say(`most calls of one cause: ${report.pushesPerCauseMax}; false calls: ${report.falsePushes}`);
  if (report.pushesPerOnCallDay !== null)
    say(
      `the fleet: ${report.pushesPerOnCallDay.toFixed(2)} calls an on-call day, ${(report.nightWakeupsPerWeek ?? 0).toFixed(2)} wake-ups a week`,
    );
  say(`rules seen firing (${report.rulesSeenFiring.length}): ${report.rulesSeenFiring.join(', ')}`);
  say(`rules seen silent (${report.rulesSeenSilent.length}): ${report.rulesSeenSilent.join(', ')}`);
  for (const missed of missedBy(report, isWhole)) say(`✗ missed: ${missed}`);
}

const percent = (share: number): string => `${Math.round(share * 100)} %`;
const say = (line: string): void => {
  process.stdout.write(`${line}\n`);
};
