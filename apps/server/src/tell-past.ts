import { reconstructPast, silentAfterMs } from '@duskline/diagnosis';
import type { FieldNode } from '@duskline/domain';
import type { Store, ToldPast } from '@duskline/store';

/**
 * The intervals of a past whose readings came late, by a backlog or a card.
 *
 * @returns undefined when nothing of the past changed
 */
export async function tellPast(
  store: Pick<Store, 'intervals'>,
  node: FieldNode,
): Promise<ToldPast | undefined> {
  const past = await store.intervals.tardyPast(node.id, silentAfterMs(node));
  if (past === undefined) return undefined;
  const intervals = past.toMs > past.fromMs ? reconstructPast(past, node.power) : [];
  return { mark: past.mark, intervals };
}
