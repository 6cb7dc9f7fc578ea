import { rules, valuesOf } from '@duskline/alerts';
import type { ExpectedWindow, FieldNode, RuleSettings, Site } from '@duskline/domain';
import type { NodeFacts, Store } from '@duskline/store';
import { afterBrightHours } from './signs/bright-hours.ts';

/** The one clock of a dark node. */
export interface OverdueClock {
  /** Given as it went dark: its end makes it overdue. */
  readonly firstWindow?: ExpectedWindow;
  /** When the rule "Overdue" tells somebody, if it stays dark. */
  readonly toldOverdueAtMs?: number;
}

/**
 * When a dark node counts as overdue, and when somebody is told: asked by the look at the node and by Rounds, so that both
 * name the same instants.
 *
 * @param of.settings  of its rules, in force
 * @param pulse        of the node
 */
export async function overdueClock(
  store: Store,
  of: { readonly site: Site; readonly node: FieldNode; readonly settings: RuleSettings },
  { lastWord, lastObservedAtMs }: Pick<NodeFacts, 'lastWord' | 'lastObservedAtMs'>,
): Promise<OverdueClock> {
  const { id } = of.node;
  const darkSinceMs = lastWord?.kind === 'farewell' ? lastWord.atMs : lastObservedAtMs;
  const firstDark =
    darkSinceMs === undefined ? undefined : await store.outlooks.firstDark(id, darkSinceMs);
  const back = firstDark !== undefined && 'back' in firstDark ? firstDark.back : undefined;
  if (back?.kind !== 'expected-back') return {};
  const endMs = back.window.p90Ms;
  const toldOverdueAtMs =
    endMs === undefined ? undefined : afterBrightHours(of, endMs, hoursNeeded(of.settings));
  return {
    firstWindow: back.window,
    ...(toldOverdueAtMs === undefined ? {} : { toldOverdueAtMs }),
  };
}

const RULE = 'overdue';

function hoursNeeded(settings: RuleSettings): number {
  const rule = rules.find(({ key }) => key === RULE);
  const hours = rule && valuesOf(rule.settings, settings[RULE] ?? {})['brightHours'];
  if (hours === undefined) throw new Error('overdueClock: the rule has no bright hours');
  return hours;
}
