import type { VisitJson, VisitStepJson } from '@duskline/contract';
import { newUuid } from './new-uuid.ts';

/** A step before it has its id and time. */
export type StepDraft<S = VisitStepJson> = S extends VisitStepJson ? Omit<S, 'id' | 'at'> : never;

/** The step as it is made here and now. */
export const madeNow = (step: StepDraft): VisitStepJson => ({
  ...step,
  id: newUuid(),
  at: new Date().toISOString(),
});

/** What of a browser's store is needed; it may throw when it is full or forbidden. */
export type StepStore = Pick<Storage, 'getItem' | 'setItem' | 'removeItem'>;

const keyOf = (owner: string, visitId: string): string =>
  `duskline-visit-steps ${owner} ${visitId}`;

/** Steps of a visit that are on this device and not known to be recorded, in the order in which they were made. */
export function queuedSteps(
  store: StepStore,
  owner: string,
  visitId: string,
): readonly VisitStepJson[] {
  const text = store.getItem(keyOf(owner, visitId));
  if (text === null) return [];
  try {
    const steps: unknown = JSON.parse(text);
    return Array.isArray(steps) ? (steps as VisitStepJson[]) : [];
  } catch {
    // Half written, or by another program: nothing that could be sent.
    return [];
  }
}

/** Keeps a step until it is recorded, also over a restart of the device. */
export function queueStep(
  store: StepStore,
  { owner, visitId }: { readonly owner: string; readonly visitId: string },
  step: VisitStepJson,
): readonly VisitStepJson[] {
  const steps = [...queuedSteps(store, owner, visitId), step];
  store.setItem(keyOf(owner, visitId), JSON.stringify(steps));
  return steps;
}

/** Forgets what is recorded. What was added meanwhile stays. */
export function dropSteps(
  store: StepStore,
  { owner, visitId }: { readonly owner: string; readonly visitId: string },
  ids: readonly string[],
): readonly VisitStepJson[] {
  const left = queuedSteps(store, owner, visitId).filter(({ id }) => !ids.includes(id));
  if (left.length === 0) store.removeItem(keyOf(owner, visitId));
  else store.setItem(keyOf(owner, visitId), JSON.stringify(left));
  return left;
}

/** The visit as it will be once these steps are recorded; those already in it change nothing. */
export function withSteps(visit: VisitJson, steps: readonly VisitStepJson[]): VisitJson {
  return steps.reduce(withStep, visit);
}

function withStep(visit: VisitJson, step: VisitStepJson): VisitJson {
  switch (step.kind) {
    case 'set-out':
      return visit.setOutAt !== null
        ? visit
        : {
            ...visit,
            state: visit.backAt === null ? 'under-way' : 'done',
            setOutAt: step.at,
            backBy: step.backBy,
            companions: step.companions,
            cautionsRead: step.cautions,
          };
    case 'later':
      return visit.setOutAt === null ? visit : { ...visit, backBy: step.backBy };
    case 'tick':
      return visit.ticked.includes(step.item)
        ? visit
        : { ...visit, ticked: [...visit.ticked, step.item] };
    case 'untick':
      return { ...visit, ticked: visit.ticked.filter((item) => item !== step.item) };
    case 'note':
      return visit.notes.some(({ at, text }) => at === step.at && text === step.text)
        ? visit
        : { ...visit, notes: [...visit.notes, { at: step.at, text: step.text }] };
    case 'back':
      return { ...visit, state: 'done', backAt: step.at, found: step.found, deeds: step.deeds };
    case 'add':
      return visit.added?.some(({ at, found }) => at === step.at && found === step.found) === true
        ? visit
        : {
            ...visit,
            deeds: [...new Set([...visit.deeds, ...step.deeds])],
            // Whose it is the server says.
            added: [
              ...(visit.added ?? []),
              { at: step.at, by: '', found: step.found, deeds: step.deeds },
            ],
          };
    case 'call-off':
      return visit.state === 'planned'
        ? { ...visit, state: 'called-off', calledOffWhy: step.why }
        : visit;
  }
}
