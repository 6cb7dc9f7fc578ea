import { HOUR_MS, MINUTE_MS, sayDuration } from '@duskline/domain';
import { defineFleetRule, type FleetFacts } from '../fleet-rule.ts';
import { setting } from '../rule.ts';

/** Our own fault: intake late, nothing heard from anybody, outlooks old, messages unsent. We are blind. */
export const notOurs = defineFleetRule({
  key: 'not-ours',
  name: 'The fault is on our side',
  why: 'We are blind.',
  who: 'server keeper, now',
  settings: {
    lagMinutes: setting(10, 'min', [1, 120], 'lag of the intake'),
    nothingMinutes: setting(15, 'min', [5, 240], 'no reading from any node'),
    outlookHours: setting(26, 'h', [2, 72], 'age of the oldest outlook of a node that is heard'),
    unsentMinutes: setting(15, 'min', [2, 240], 'age of the oldest unsent message'),
  },
  onDelay: { ms: MINUTE_MS, runs: 2 },
  offDelay: { ms: 10 * MINUTE_MS, runs: 2 },
  evaluate(facts, values) {
    const faults = faultsOf(facts, values);
    if (faults.length === 0)
      return [{ kind: 'clear', subject: '', why: 'Intake, outlooks and messages are in order.' }];
    const blind = faults.some(({ blinds }) => blinds);
    return [
      {
        kind: 'holds',
        subject: '',
        priority: 'P1',
        covers: blind ? facts.nodes.map(({ nodeId }) => nodeId) : [],
        text: {
          sentence: 'Duskline itself is not well: what it shows may be old.',
          figures: faults.map(({ says }) => says).join(' '),
          byWhen: 'now',
          todo: 'Look at the health page: database, broker, disk, the line to them.',
          bring: 'access to the server',
          cautions: [],
        },
      },
    ];
  },
});

function faultsOf(
  { nowMs, nodes, server }: FleetFacts,
  limit: {
    readonly lagMinutes: number;
    readonly nothingMinutes: number;
    readonly outlookHours: number;
    readonly unsentMinutes: number;
  },
): { readonly says: string; readonly blinds: boolean }[] {
  const faults: { says: string; blinds: boolean }[] = [];
  if (server.databaseDown === true)
    faults.push({ says: 'The database does not answer.', blinds: true });
  if (server.brokerDown === true)
    faults.push({ says: 'The broker does not answer.', blinds: true });
  if ((server.intakeLagMs ?? 0) > limit.lagMinutes * MINUTE_MS)
    faults.push({
      says: `The intake runs ${sayDuration(server.intakeLagMs ?? 0)} late.`,
      blinds: true,
    });
  const expected = nodes.filter(
    ({ state }) => state === 'up' || state === 'low' || state === 'link-down',
  );
  const newestMs = Math.max(server.startedAtMs, ...nodes.map((node) => node.lastHeardAtMs ?? 0));
  const nothingMs = Math.max(
    limit.nothingMinutes * MINUTE_MS,
    3 * Math.min(Infinity, ...expected.map(({ usualGapMs }) => usualGapMs)),
  );
  if (expected.length >= 3 && nowMs - newestMs > nothingMs)
    faults.push({
      says: `Nothing was heard from any node for ${sayDuration(nowMs - newestMs)}.`,
      blinds: true,
    });
  if ((server.oldestOutlookAgeMs ?? 0) > limit.outlookHours * HOUR_MS)
    faults.push({
      says: `An outlook is ${sayDuration(server.oldestOutlookAgeMs ?? 0)} old.`,
      blinds: false,
    });
  if ((server.oldestUnsentMs ?? 0) > limit.unsentMinutes * MINUTE_MS)
    faults.push({
      says: `A message has waited ${sayDuration(server.oldestUnsentMs ?? 0)} to be sent.`,
      blinds: false,
    });
  return faults;
}
