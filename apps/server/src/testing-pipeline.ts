import { DAY_MS, HOUR_MS, MINUTE_MS, type FieldNode } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { encodeMessage, topicFor } from '@duskline/wire';
import { createPipeline, type PipelineDeps } from './pipeline.ts';

/** The way of a reading, for tests on a database. Nobody is acknowledged or told unless asked for. */
export const createTestPipeline = (
  store: Store,
  now: () => number,
  sendAck: PipelineDeps['sendAck'] = () => undefined,
) => createPipeline({ store, clock: { now }, sendAck, onNews: () => undefined });

/**
 * Half-hourly readings, a message a day, by the backlog lane: sun around noon, a steady load, the charge as told.
 *
 * @param chargeAt 0–1; undefined while the node is silent
 */
export async function tellHalfHours(
  { receive, idle }: ReturnType<typeof createPipeline>,
  node: FieldNode,
  {
    days,
    untilMs,
    receivedAtMs = untilMs,
  }: { days: number; untilMs: number; receivedAtMs?: number },
  chargeAt: (atMs: number) => number | undefined,
): Promise<void> {
  let seq = 0;
  for (let fromMs = untilMs - days * DAY_MS; fromMs < untilMs; fromMs += DAY_MS) {
    seq += 1;
    const samples = Array.from({ length: 48 }, (_, i) => {
      const observedAtMs = fromMs + (i + 1) * 30 * MINUTE_MS;
      const hour = (observedAtMs / HOUR_MS) % 24;
      const charge = chargeAt(observedAtMs);
      return charge === undefined
        ? []
        : [
            {
              observedAtMs,
              metrics: ['batt_temp', 'charge', 'load_w', 'panel_w'] as const,
              values: [8, charge * 100, 1, hour > 9 && hour < 15 ? 3 : 0],
            },
          ];
    }).flat();
    if (samples.length === 0) continue;
    await receive({
      topic: topicFor(node.name, 'backlog'),
      payload: encodeMessage({ node: node.name, place: { boot: 1, seq }, samples }),
      receivedAtMs,
    });
  }
  await idle();
}
