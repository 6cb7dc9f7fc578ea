import type { VisitJson, VisitStepJson, VisitVerdictJson } from '@duskline/contract';
import type { Site, VisitStep, VisitVerdict } from '@duskline/domain';
import type { KeptVisitFacts } from '../rounds-port.ts';
import { finite, finiteOrNull } from './finite.ts';
import { instant, instantOrNull } from './instant.ts';

export const visitJson = (
  visit: KeptVisitFacts,
  site: Pick<Site, 'name' | 'timeZone'> | undefined,
): VisitJson => ({
  id: visit.id,
  siteId: visit.siteId,
  siteName: site?.name ?? visit.siteId,
  timeZone: site?.timeZone ?? 'UTC',
  roundId: visit.round?.id ?? null,
  place: visit.round?.place ?? null,
  plannedAt: instant(visit.plannedAtMs),
  personId: visit.personId,
  person: visit.person,
  why: visit.why,
  plannedBy: visit.plannedBy,
  ...(visit.moves === undefined
    ? {}
    : {
        moves: visit.moves.map(({ atMs, fromMs, toMs, ...move }) => ({
          at: instant(atMs),
          fromAt: instant(fromMs),
          toAt: instant(toMs),
          ...move,
        })),
      }),
  state: visit.state,
  setOutAt: instantOrNull(visit.setOutAtMs),
  backBy: instantOrNull(visit.backByMs),
  companions: visit.companions,
  backAt: instantOrNull(visit.backAtMs),
  found: visit.found,
  deeds: [...visit.deeds],
  ...(visit.added === undefined
    ? {}
    : {
        added: visit.added.map(({ atMs, by, found, deeds }) => ({
          at: instant(atMs),
          by,
          found,
          deeds: [...deeds],
        })),
      }),
  calledOffWhy: visit.calledOffWhy ?? null,
  ticked: [...visit.ticked],
  cautionsRead: [...visit.cautions],
  notes: visit.notes.map(({ atMs, text }) => ({ at: instant(atMs), text })),
  verdicts: visit.verdicts.map(verdictJson),
});

const verdictJson = (verdict: VisitVerdict): VisitVerdictJson => {
  const judged = verdict.kind === 'judged' ? verdict : undefined;
  const { reserve } = verdict;
  return {
    horizon: verdict.horizon,
    kind: verdict.kind,
    says: verdict.says,
    yieldChange: finiteOrNull(judged?.yieldChange, 'yieldChange'),
    lowChange: finiteOrNull(judged?.lowChange, 'lowChange'),
    highChange: finiteOrNull(judged?.highChange, 'highChange'),
    gainWhPerDay: finiteOrNull(judged?.gainWhPerDay, 'gainWhPerDay'),
    reserve:
      reserve === undefined
        ? null
        : {
            beforeWh: finite(reserve.beforeWh, 'beforeWh'),
            afterWh: finite(reserve.afterWh, 'afterWh'),
            beforeDays: finiteOrNull(reserve.beforeDays, 'beforeDays'),
            afterDays: finiteOrNull(reserve.afterDays, 'afterDays'),
          },
  };
};

/** A step as the domain knows it. A phone whose clock runs ahead cannot report from the future. */
export function visitStepOf(
  step: VisitStepJson,
  { by, nowMs }: { readonly by: string; readonly nowMs: number },
): VisitStep {
  const at = { id: step.id, atMs: Math.min(Date.parse(step.at), nowMs) };
  switch (step.kind) {
    case 'set-out':
      return {
        ...at,
        kind: step.kind,
        backByMs: Date.parse(step.backBy),
        companions: step.companions.trim(),
        cautions: step.cautions,
      };
    case 'later':
      return { ...at, kind: step.kind, backByMs: Date.parse(step.backBy) };
    case 'tick':
    case 'untick':
      return { ...at, kind: step.kind, item: step.item };
    case 'note':
      return { ...at, kind: step.kind, text: step.text.trim() };
    case 'back':
      return { ...at, kind: step.kind, found: step.found.trim(), deeds: step.deeds };
    case 'add':
      return { ...at, kind: step.kind, by, found: step.found.trim(), deeds: step.deeds };
    case 'call-off':
      return { ...at, kind: step.kind, why: step.why.trim() };
  }
}
