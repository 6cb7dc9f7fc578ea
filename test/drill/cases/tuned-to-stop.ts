import {
  createSimulatedNode,
  firstState,
  surroundingsOf,
  type SimulatedSite,
  type Weather,
} from '@duskline/simulator';
import { HOUR_MS } from '@duskline/domain';

/**
 * The site with the load under which it stops itself (or comes back) within a stretch, whatever the weather of the seed.
 * Only its load is changed; the rest is lived through.
 *
 * @throws when no load does it
 */
export function tunedTo(
  word: 'farewell' | 'hello',
  site: SimulatedSite,
  at: {
    readonly seed: number;
    readonly index: number;
    readonly weather: Weather;
    readonly startMs: number;
    readonly fromMs: number;
    readonly untilMs: number;
    /** It says nothing more for so long. */
    readonly quietMs: number;
  },
): { readonly site: SimulatedSite; readonly atMs: number } {
  const surroundings = surroundingsOf(site, at.index, at.weather, at.untilMs);
  for (let step = 0; step < 160; step++) {
    const tuned = { ...site, loadW: 0.3 * 1.022 ** step };
    const node = createSimulatedNode(tuned, {
      seed: at.seed,
      drillMs: at.untilMs,
      surroundings,
      from: firstState(tuned, at.startMs),
    });
    const words: { kind: string; atMs: number }[] = [];
    for (let atMs = at.startMs + HOUR_MS; atMs <= at.untilMs + at.quietMs; atMs += HOUR_MS)
      words.push(...node.stepTo(atMs).filter(({ kind }) => kind !== 'sample'));
    const hit = words.find(
      ({ kind, atMs }) => kind === word && atMs >= at.fromMs && atMs <= at.untilMs,
    );
    if (hit === undefined) continue;
    const next = words[words.indexOf(hit) + 1];
    if (next === undefined || next.atMs > hit.atMs + at.quietMs)
      return { site: tuned, atMs: hit.atMs };
  }
  throw new Error(`No load makes ${site.name} say its ${word} then (seed ${at.seed}).`);
}
