import { visitText } from '../text/visit.ts';
import type { PlanStop } from './plan-stop.ts';

/** As long as the reason of a visit may be. */
const LONGEST = 300;

/**
 * Why a round is driven, before anybody has typed: what each stop is for, as many whole sentences of each as fit, so that none
 * is left out for the length of another.
 */
export function roundReason(stops: readonly PlanStop[]): string {
  const share = Math.floor((LONGEST - (stops.length - 1)) / Math.max(1, stops.length));
  const said = stops.map(({ purpose = '' }) => wholeSentences(purpose, share));
  return said.filter((one) => one !== '').join(' ') || visitText.rounds.reasonDefault;
}

function wholeSentences(text: string, most: number): string {
  const kept: string[] = [];
  for (const sentence of text.split(/(?<=[.!?])\s+/u)) {
    if ([...kept, sentence].join(' ').length > most) break;
    kept.push(sentence);
  }
  return kept.join(' ');
}
