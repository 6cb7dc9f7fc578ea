import type { OutlookDesk } from '@duskline/api';
import type { SeasonJson, WhatHelpsJson, WhatIfAnswerJson } from '@duskline/contract';
import type { FieldNode } from '@duskline/domain';
import {
  seasonOutlook,
  whatIf,
  whatWouldHelp,
  type ForecastInputs,
  type LogisticMap,
  type WhatIf,
} from '@duskline/forecast';
import type { Store } from '@duskline/store';
import { forecastInputs, recalibrationOf } from './forecast-at.ts';
import { keptInputs } from './kept-inputs.ts';

/**
 * What would be if the node were otherwise, and in other months: thought through on request, from the inputs of the outlook
 * that is shown, so that both speak of the same futures. Answers are kept until the next outlook.
 */
export function createWhatIfDesk(
  store: Store,
): Required<Pick<OutlookDesk, 'whatIf' | 'whatHelps' | 'season'>> {
  const helps = keepingLatest<WhatHelpsJson>();
  const seasons = keepingLatest<SeasonJson>();

  async function shownInputs(
    node: FieldNode,
  ): Promise<
    { readonly inputs: ForecastInputs; readonly map: LogisticMap | undefined } | undefined
  > {
    const shown = await store.outlooks.latest(node.id);
    if (shown === undefined) return undefined;
    const kept = await keptInputs(store, node, { issuedAtMs: shown.issuedAtMs, hindcast: false });
    return (
      kept && {
        inputs: forecastInputs(kept.inputs, kept.lessons),
        map: recalibrationOf(kept.inputs),
      }
    );
  }

  return {
    async whatIf(node, change) {
      const shown = await shownInputs(node);
      if (shown === undefined) return undefined;
      const found = whatIf(shown.inputs, change, shown.map);
      return 'change' in found ? answerJson(found) : undefined;
    },
    async whatHelps(node) {
      const shown = await shownInputs(node);
      if (shown === undefined) return { ...nothing, helps: [], assumes: '' };
      const { inputs, map } = shown;
      return helps(node, inputs, () => {
        const found = whatWouldHelp(inputs, map);
        const at = new Date(inputs.nowMs).toISOString();
        return found.kind === 'help'
          ? { at, helps: found.changes.map(answerJson), assumes: found.assumes, missing: null }
          : { at, helps: [], assumes: '', missing: found.missing };
      });
    },
    async season(node) {
      const inputs = (await shownInputs(node))?.inputs;
      if (inputs === undefined) return { ...nothing, months: [], sentence: '' };
      return seasons(node, inputs, () => {
        const found = seasonOutlook(inputs);
        const at = new Date(inputs.nowMs).toISOString();
        return found.kind === 'season'
          ? { at, months: [...found.months], sentence: found.says, missing: null }
          : { at, months: [], sentence: '', missing: found.missing };
      });
    },
  };
}

const nothing = {
  at: new Date(0).toISOString(),
  missing: 'an outlook of this node, which is made only while it is heard,',
};

const answerJson = (found: WhatIf): WhatIfAnswerJson => ({
  kind: found.change.kind,
  gainedDays: found.gainedDays ?? null,
  isAtLeast: found.isAtLeast,
  concernedShare: found.concernedShare,
  darkWithin14DaysBefore: found.darkWithin14Days.before,
  darkWithin14DaysAfter: found.darkWithin14Days.after,
  sentence: found.says,
  caution: found.caution ?? null,
});

/** One answer a node, as long as its outlook stands. */
function keepingLatest<T>() {
  const kept = new Map<number, { readonly nowMs: number; readonly answer: T }>();
  return (node: FieldNode, { nowMs }: ForecastInputs, make: () => T): T => {
    const before = kept.get(node.id);
    if (before?.nowMs === nowMs) return before.answer;
    const answer = make();
    kept.set(node.id, { nowMs, answer });
    return answer;
  };
}
