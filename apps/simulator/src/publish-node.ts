import {
  MINUTE_MS,
  metricKeys,
  type MetricKey,
  type NodeName,
  type Sample,
} from '@duskline/domain';
import { encodeFarewell, encodeHello, encodeMessage } from '@duskline/wire';
import type { NodeLink } from './node-link.ts';
import type { NodeEvent, SimulatedNode } from './simulated-node.ts';

/** Samples in one message of the past: half a day at a quarter of an hour. */
const PACK_SAMPLES = 48;
/** Messages of one node on their way at once. */
const WINDOW = 6;
/** Code of "orderly" in the metric boot_cause. */
const ORDERLY = 1;
/** The past is logged every quarter of an hour, the present every usual gap. */
export const HISTORY_STEP_MS = 15 * MINUTE_MS;

export interface NodePublisher {
  /** Sends everything that happened since, up to `toMs`, in packs on the backlog lane. */
  readonly catchUp: (toMs: number) => Promise<void>;
  /** Sends what happened since, one sample a message, on the live lane. */
  readonly live: (toMs: number) => void;
  readonly boot: () => number;
}

/** Turns what a simulated node lives through into messages: boot and message numbers, hello and farewell. */
export function createNodePublisher(
  simulated: SimulatedNode,
  link: NodeLink,
  start: { readonly node: NodeName; readonly boot: number; readonly sentToMs: number },
): NodePublisher {
  let boot = start.boot;
  let seq = 0;
  let pack: Sample[] = [];

  const send = (lane: 'live' | 'backlog', samples: readonly Sample[]) => {
    seq += 1;
    const place = { boot, seq };
    link.send({
      lane,
      place,
      payload: encodeMessage({ node: start.node, place, samples }, 'json'),
    });
  };
  const flush = () => {
    if (pack.length > 0) send('backlog', pack);
    pack = [];
  };
  const word = (event: Exclude<NodeEvent, { kind: 'sample' }>) => {
    flush();
    if (event.kind === 'hello') {
      boot += 1;
      seq = 0;
      link.say(encodeHello({ node: start.node, observedAtMs: event.atMs, bootCauseCode: ORDERLY }));
      return;
    }
    link.say(
      encodeFarewell({
        node: start.node,
        observedAtMs: event.atMs,
        reason: 'charge at the shut-down level',
        chargeRatio: event.chargeRatio,
      }),
    );
  };

  return {
    async catchUp(toMs) {
      const firstMs = Math.ceil(start.sentToMs / HISTORY_STEP_MS) * HISTORY_STEP_MS;
      for (let atMs = firstMs; atMs <= toMs; atMs += HISTORY_STEP_MS) {
        for (const event of simulated.stepTo(atMs)) {
          if (event.atMs <= start.sentToMs) continue;
          if (event.kind !== 'sample') word(event);
          else pack.push(sampleOf(event));
          if (pack.length >= PACK_SAMPLES) flush();
        }
        await link.room(WINDOW);
      }
      flush();
      await link.room(1);
    },
    live(toMs) {
      for (const event of simulated.stepTo(toMs)) {
        if (event.kind === 'sample') send('live', [sampleOf(event)]);
        else word(event);
      }
    },
    boot: () => boot,
  };
}

const order = new Map<MetricKey, number>([...metricKeys].sort().map((key, index) => [key, index]));

function sampleOf(event: Extract<NodeEvent, { kind: 'sample' }>): Sample {
  const entries = [...event.values].sort(([a], [b]) => (order.get(a) ?? 0) - (order.get(b) ?? 0));
  return {
    observedAtMs: Math.round(event.atMs),
    metrics: entries.map(([metric]) => metric),
    values: entries.map(([, value]) => value),
    timeQuality: 'synced',
  };
}
