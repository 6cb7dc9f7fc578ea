import { sayMoment, type Account, type AlertState, type AlertStep } from '@duskline/domain';

/** What a step does to the row of an alert: from which states it starts, and the values it leaves. */
export interface StepPlan {
  readonly from: readonly AlertState[];
  /** `before-pause`: whoever had it before has it again; what nobody had is new. */
  readonly to: AlertState | 'same' | 'before-pause';
  readonly why: string;
  readonly takenBy?: string;
  readonly takenUntilMs?: number;
  readonly paused?: { readonly untilMs: number; readonly by: string; readonly why: string };
  readonly handedTo?: { readonly id: string; readonly name: string };
  /** `now`: somebody is to be told at once, unless it is theirs who did the step. `never`: who was to be told need not be. */
  readonly call: 'now' | 'never' | 'same';
}

const OPEN: readonly AlertState[] = ['new', 'taken', 'paused'];

/** Says what a person's step does. States after ISA-18.2, in our words. */
export function planStep(step: AlertStep, by: Account): StepPlan {
  switch (step.kind) {
    case 'take':
      return {
        from: OPEN,
        to: 'taken',
        why: `Taken by ${by.name}.`,
        takenBy: by.name,
        ...(step.untilMs === undefined ? {} : { takenUntilMs: step.untilMs }),
        call: 'never',
      };
    case 'hand-over':
      return {
        from: OPEN,
        to: 'new',
        why: `Handed to ${step.to.name} by ${by.name}${step.note === undefined ? '.' : `: ${step.note}`}`,
        handedTo: step.to,
        call: 'now',
      };
    case 'pause':
      return {
        from: ['new', 'taken'],
        to: 'paused',
        why: `Paused by ${by.name} until ${sayMoment(step.untilMs, 'UTC')}: ${step.why}`,
        paused: { untilMs: step.untilMs, by: by.name, why: step.why },
        call: 'never',
      };
    case 'resume':
      return {
        from: ['paused'],
        to: 'before-pause',
        why: `Pause ended by ${by.name}.`,
        call: 'now',
      };
    case 'note':
      return { from: [...OPEN, 'ended-unseen', 'ended'], to: 'same', why: step.text, call: 'same' };
    case 'seen':
      return { from: ['ended-unseen'], to: 'ended', why: `Seen by ${by.name}.`, call: 'never' };
  }
}
