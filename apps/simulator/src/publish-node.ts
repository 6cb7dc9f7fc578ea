import {
  MINUTE_MS,
  metricKeys,
  type MetricKey,
  type NodeName,
  type Sample,
} from '@duskline/domain';
import { encodeFarewell, encodeHello, encodeMessage } from '@duskline/wire';
import type { NodeLink } from './node-link.ts';
import {
  LONGEST_STEP_MS,
  type NodeEvent,
  type NodeState,
  type SimulatedNode,
} from './simulated-node.ts';

/** Samples in one message of the past: half a day at a quarter of an hour. */
const PACK_SAMPLES = 48;
/** Messages of one node on their way at once. */
const WINDOW = 6;
/** Code of "orderly" in the metric boot_cause. */
const ORDERLY = 1;
/** What is older than this goes by the backlog lane, e.g. after the machine has slept. */
const FRESH_MS = 10 * MINUTE_MS;
/** The past is logged every quarter of an hour, the present every usual gap. */
export const HISTORY_STEP_MS = LONGEST_STEP_MS;

/** What must be remembered: the boot number in use, and the node as it was after the last message that is committed. */
export interface Progress {
  readonly boot: number;
  readonly state?: NodeState | undefined;
}

export interface NodePublisher {
  /** Sends everything that happened since, up to `toMs`, in packs on the backlog lane; resolves when all is committed. */
  readonly catchUp: (toMs: number) => Promise<void>;
  /** Sends what happened since, one sample a message, on the live lane. */
  readonly live: (toMs: number) => void;
}

interface Step {
  readonly state: NodeState;
  committed: boolean;
}

/**
 * Turns what a simulated node lives through into messages: boot and message numbers, hello and farewell.
 *
 * @param start.boot the last boot number that may have been used
 * @param start.onProgress told before the first message under a new boot number goes out, and after every commit
 */
export function createNodePublisher(
  simulated: SimulatedNode,
  link: NodeLink,
  start: {
    readonly node: NodeName;
    readonly boot: number;
    readonly onProgress: (progress: Progress) => void;
    /** How often it was asked to publish, ms; undefined: each sample at once. */
    readonly publishEveryMs?: (atMs: number) => number | undefined;
  },
): NodePublisher {
  const { node, onProgress } = start;
  let boot = start.boot;
  let seq = 0;
  let pack: Sample[] = [];
  /** Read since it last published, where it was asked to publish seldom. */
  let held: Sample[] = [];
  let reached: NodeState | undefined;
  /** Everything said, in order, until it and all before it is committed. */
  let steps: Step[] = [];

  function begin(state: NodeState): () => void {
    const step: Step = { state, committed: false };
    steps.push(step);
    return () => {
      step.committed = true;
      const first = steps.findIndex(({ committed }) => !committed);
      const done = first === -1 ? steps : steps.slice(0, first);
      steps = first === -1 ? [] : steps.slice(first);
      reached = done.at(-1)?.state ?? reached;
      if (done.length > 0) onProgress({ boot, state: reached });
    };
  }
  function send(lane: 'live' | 'backlog', samples: readonly Sample[], state: NodeState): void {
    if (seq === 0) {
      // Remembered before it is used: a number must never stand for two messages, whenever this program is killed.
      boot += 1;
      onProgress({ boot, state: reached });
    }
    seq += 1;
    const place = { boot, seq };
    const payload = encodeMessage({ node, place, samples }, 'json');
    link.send({ lane, place, payload, onCommitted: begin(state) });
  }
  function flush(state: NodeState): void {
    if (pack.length > 0) send('backlog', pack, state);
    pack = [];
    if (held.length > 0) send('live', held, state);
    held = [];
  }
  function say(event: Exclude<NodeEvent, { kind: 'sample' }>, state: NodeState): void {
    flush(state);
    if (event.kind === 'hello') {
      seq = 0;
      link.wake();
      const hello = encodeHello({ node, observedAtMs: event.atMs, bootCauseCode: ORDERLY });
      return link.say(hello, begin(state));
    }
    const farewell = encodeFarewell({
      node,
      observedAtMs: event.atMs,
      reason: 'charge at the shut-down level',
      chargeRatio: event.chargeRatio,
    });
    link.say(farewell, begin(state));
  }
  function step(toMs: number, onSample: (sample: Sample, state: NodeState) => void): void {
    while (simulated.state().atMs < toMs) {
      const events = simulated.stepTo(Math.min(toMs, simulated.state().atMs + LONGEST_STEP_MS));
      for (const event of events)
        if (event.kind === 'sample') onSample(sampleOf(event), simulated.state());
        else say(event, simulated.state());
    }
  }
  const keep = (sample: Sample, state: NodeState): void => {
    pack.push(sample);
    if (pack.length >= PACK_SAMPLES) flush(state);
  };

  return {
    async catchUp(toMs) {
      const firstMs = Math.ceil(simulated.state().atMs / HISTORY_STEP_MS) * HISTORY_STEP_MS;
      for (let atMs = firstMs; atMs <= toMs; atMs += HISTORY_STEP_MS) {
        step(atMs, keep);
        if (pack.length === 0) await link.room(WINDOW);
      }
      flush(simulated.state());
      await link.room(1);
      if (simulated.isSilent()) link.rest();
    },
    live(toMs) {
      step(toMs, (sample, state) => {
        if (toMs - sample.observedAtMs > FRESH_MS) return keep(sample, state);
        const everyMs = start.publishEveryMs?.(sample.observedAtMs) ?? 0;
        held.push(sample);
        const sinceMs = sample.observedAtMs - (held[0]?.observedAtMs ?? 0);
        if (sinceMs + lastGapMs(held) >= everyMs) flush(state);
      });
      if (pack.length > 0 || simulated.isSilent()) flush(simulated.state());
      if (simulated.isSilent()) link.rest();
    },
  };
}

/** How far apart its last two samples are, ms; 0 for fewer than two. */
const lastGapMs = (samples: readonly Sample[]): number =>
  (samples.at(-1)?.observedAtMs ?? 0) -
  (samples.at(-2) ?? samples.at(-1) ?? { observedAtMs: 0 }).observedAtMs;

const order = new Map<MetricKey, number>([...metricKeys].sort().map((key, index) => [key, index]));

/** A look at the instruments as a row for a message, its metrics in the order of their names. */
export function sampleOf(event: Extract<NodeEvent, { kind: 'sample' }>): Sample {
  const entries = [...event.read()].sort(([a], [b]) => (order.get(a) ?? 0) - (order.get(b) ?? 0));
  return {
    observedAtMs: Math.round(event.atMs),
    metrics: entries.map(([metric]) => metric),
    values: entries.map(([, value]) => value),
    timeQuality: 'synced',
  };
}
