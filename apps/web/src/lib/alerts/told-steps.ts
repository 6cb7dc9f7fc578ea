import type { AlertPageJson } from '@duskline/contract';

type Step = AlertPageJson['history'][number];

/**
 * What happened to an alert, without the noise: of figures that the rules wrote anew one after the other only the last is
 * told, unless its urgency changed on the way. What people did stands whole.
 */
export const toldSteps = (history: readonly Step[]): readonly Step[] =>
  history.filter((step, i) => {
    const next = history[i + 1];
    const isOvertaken =
      isByRules(step) && next !== undefined && isByRules(next) && next.priority === step.priority;
    return !isOvertaken;
  });

const isByRules = ({ kind, by }: Step): boolean => by === null && kind === 'update';
