import { visitText } from '../text/visit.ts';
import type { PlanStop } from './plan-stop.ts';

/** As long as the reason of a visit may be. */
const LONGEST = 300;

/**
 * Why a round is driven, before anybody has typed: what its stops are for, in whole sentences. The first of every stop goes
 * before the second of any, as long as they fit.
 */
export function roundReason(stops: readonly PlanStop[]): string {
  const said = stops.map(({ purpose = '' }) =>
    purpose.split(/(?<=[.!?])\s+/u).filter((sentence) => sentence !== ''),
  );
  const kept = said.map((): string[] => []);
  let length = -1;
  const most = Math.max(0, ...said.map((sentences) => sentences.length));
  for (let place = 0; place < most; place++)
    for (const [i, sentences] of said.entries()) {
      const sentence = sentences[place];
      // What was left out is not gone on with.
      if (sentence === undefined || kept[i]?.length !== place) continue;
      if (length + 1 + sentence.length > LONGEST) continue;
      length += 1 + sentence.length;
      kept[i].push(sentence);
    }
  return kept.flat().join(' ') || visitText.rounds.reasonDefault;
}
