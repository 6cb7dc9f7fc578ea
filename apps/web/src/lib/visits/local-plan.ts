import type { FieldSheetJson, NewVisitJson, VisitPageJson } from '@duskline/contract';
import type { StepStore } from './step-queue.ts';

/** A visit begun where there was no coverage: on this device until the server has it. */
export interface LocalPlan {
  readonly visit: NewVisitJson & { readonly id: string };
  readonly sheet: FieldSheetJson;
  /** Name of whoever goes. */
  readonly person: string;
}

const keyOf = (owner: string, visitId: string): string => `duskline-visit-plan ${owner} ${visitId}`;

export function keepPlan(store: StepStore, owner: string, plan: LocalPlan): void {
  store.setItem(keyOf(owner, plan.visit.id), JSON.stringify(plan));
}

export function keptPlan(store: StepStore, owner: string, visitId: string): LocalPlan | undefined {
  const text = store.getItem(keyOf(owner, visitId));
  if (text === null) return undefined;
  try {
    const plan = JSON.parse(text) as Partial<LocalPlan> | null;
    return plan?.visit?.id === visitId && plan.sheet !== undefined
      ? (plan as LocalPlan)
      : undefined;
  } catch {
    // Half written: as if it had never been begun.
    return undefined;
  }
}

export function dropPlan(store: StepStore, owner: string, visitId: string): void {
  store.removeItem(keyOf(owner, visitId));
}

/** The page of a visit that the server does not know yet. */
export const pageOfPlan = ({ visit, sheet, person }: LocalPlan): VisitPageJson => ({
  visit: {
    id: visit.id,
    siteId: visit.siteId,
    siteName: sheet.siteName,
    timeZone: sheet.timeZone,
    roundId: null,
    place: null,
    plannedAt: visit.at,
    personId: '',
    person,
    why: visit.why,
    plannedBy: person,
    state: 'planned',
    setOutAt: null,
    backBy: null,
    companions: '',
    backAt: null,
    found: '',
    deeds: [],
    calledOffWhy: null,
    ticked: [],
    cautionsRead: [],
    notes: [],
    verdicts: [],
  },
  sheet,
});
