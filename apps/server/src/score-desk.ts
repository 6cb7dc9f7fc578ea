import { DAY_MS, type NodeId } from '@duskline/domain';
import {
  fleetScore,
  type FleetScore,
  type GradeFigures,
  type ScoredOutlook,
} from '@duskline/forecast';
import type { ScoreRow, Store } from '@duskline/store';

/** Which outlooks a score is made of. */
export interface ScoreQuestion {
  readonly days: number;
  readonly of: 'all' | 'issued' | 'hindcasts';
  readonly nodeId?: NodeId;
}

export interface ScoreAnswer {
  readonly score: FleetScore;
  readonly byNode: ReadonlyMap<NodeId, FleetScore>;
  /** Of the recalibration in force; undefined: chances are as the paths give them. */
  readonly recalibration?: { readonly fittedAtMs: number; readonly outcomes: number };
}

/** A row of the store as the scores take it; `figures` was written by the grader. */
export const scoredOutlook = ({ figures, ...row }: ScoreRow): ScoredOutlook => ({
  ...row,
  ...(figures === undefined ? {} : { figures: figures as GradeFigures }),
});

/** The same question gives the same intervals. */
const SEED = 20_261_126;

/** How right the outlooks were, from what the grader kept. */
export async function readScore(
  store: Store,
  question: ScoreQuestion,
  nowMs: number,
): Promise<ScoreAnswer> {
  const [rows, recalibration] = await Promise.all([
    store.scores.daily({
      fromMs: nowMs - question.days * DAY_MS,
      toMs: nowMs,
      ...(question.nodeId === undefined ? {} : { nodeId: question.nodeId }),
    }),
    store.scores.recalibration(),
  ]);
  const wanted = rows.filter(
    ({ hindcast }) => question.of === 'all' || hindcast === (question.of === 'hindcasts'),
  );
  const outlooks = wanted.map(scoredOutlook);
  const ofNode = new Map<NodeId, ScoredOutlook[]>();
  wanted.forEach((row, i) => {
    const list = ofNode.get(row.nodeId) ?? [];
    ofNode.set(row.nodeId, list);
    const outlook = outlooks[i];
    if (outlook !== undefined) list.push(outlook);
  });
  const options = { nowMs, seed: SEED };
  return {
    score: fleetScore(outlooks, options),
    byNode: new Map([...ofNode].map(([id, list]) => [id, fleetScore(list, options)])),
    ...(recalibration === undefined
      ? {}
      : {
          recalibration: {
            fittedAtMs: recalibration.fittedAtMs,
            outcomes: recalibration.outcomes,
          },
        }),
  };
}
