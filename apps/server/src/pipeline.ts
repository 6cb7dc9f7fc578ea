import { evaluateRules, rules } from '@duskline/alerts';
import { judgeState } from '@duskline/diagnosis';
import { MINUTE_MS, type MessagePlace, type NodeId, type NodeName } from '@duskline/domain';
import { createReceiver, type ReceiveStep, type Rejected } from '@duskline/intake';
import type { Store } from '@duskline/store';
import { decodeMessage, resolveMessage, salvagePlace } from '@duskline/wire';
import { prepareQualityCheck } from './check-quality.ts';
import type { Clock } from './clock.ts';
import type { FleetLook } from './fleet-look.ts';
import { gatherFacts } from './gather-facts.ts';
import { inflate } from './inflate.ts';
import { keepInQuarantine } from './keep-in-quarantine.ts';
import { issueOutlooks } from './issue-outlooks.ts';
import { createSignReader, type NodeSigns } from './signs/read-signs.ts';
import { takeSettings } from './settings-desk.ts';
import { tellPast } from './tell-past.ts';

export interface PipelineDeps {
  readonly store: Store;
  readonly clock: Clock;
  /** Tells a node that its messages are committed up to this place. */
  readonly sendAck: (node: NodeName, place: MessagePlace) => void;
  /** A node has news: whoever schedules `advance` wants to know. */
  readonly onNews: (nodeId: NodeId) => void;
  /** The rules about the fleet as a whole. */
  readonly fleet?: FleetLook;
  /** Live messages of one node a second; what is above it goes by the backlog lane. Default 50. */
  readonly livePerSecond?: number;
  /** Told of what went to quarantine, once it is kept. */
  readonly onRejected?: (rejected: Rejected) => void;
  /** Told of each step of the intake: where a test of faults lets the process die. */
  readonly onStep?: (step: ReceiveStep) => void;
}

export interface NodeFailure {
  readonly nodeId: NodeId;
  readonly cause: unknown;
}

/** While a rule waits for a delay to be over, its node is looked at so often. */
const DELAY_LOOK_MS = MINUTE_MS / 4;
/** Nodes of one sweep; the next one finds the others. */
const SWEPT_AT_ONCE = 200;

/** The life of a reading, top to bottom. Nothing in this file subscribes to anything; its callers are intake and schedule. */
export function createPipeline(deps: PipelineDeps) {
  const { store, clock, sendAck, onNews, fleet } = deps;
  const readSigns = createSignReader(store);
  /**
   * A. RECEIVE: inside the MQTT acknowledgement; the broker keeps the packet until this resolves.
   * Packets that come together share one statement and one commit.
   */
  const { receive, idle, figures } = createReceiver({
    decode: (packet) => decodeMessage(packet, { inflate }), //            wire, pure: bytes → records
    resolve: resolveMessage, //                                           wire, pure: records → dated samples
    async accept(messages) {
      const outcomes = await store.samples.accept(messages); //           one idempotent statement for all of them
      await takeSettings(store, messages); //                             the rare message that answers a request of settings
      return outcomes;
    },
    salvagePlace: (packet) => salvagePlace(packet, { inflate }), //       wire, pure: the number of what was not understood
    async quarantine(entries) {
      const acks = await keepInQuarantine(store, entries); //             what cannot be accepted is kept whole, and settled
      for (const entry of entries) deps.onRejected?.(entry);
      return acks;
    },
    sendAck, //                                                           after the commit, never before
    onStored: (nodeId) => onNews(nodeId),
    clock,
    ...(deps.livePerSecond === undefined ? {} : { livePerSecond: deps.livePerSecond }),
    ...(deps.onStep === undefined ? {} : { onStep: deps.onStep }),
  });

  /** B. ADVANCE: after the acknowledgement, once per node however many packets came. Safe to repeat. */
  async function advance(nodeId: NodeId): Promise<void> {
    const nowMs = clock.now();
    await store.cardImports.yieldToAir(nodeId); //                        what a card brought before it came by air is not kept twice
    await store.rollups.refresh(nodeId, () => prepareQualityCheck(store, nodeId)); // quality tests and rollups of the hours that changed
    const facts = await gatherFacts(store, nodeId, nowMs); //             what is known of the node and its neighbours
    if (facts === undefined) return;
    const past = await tellPast(store, facts.node); //                    diagnosis, pure: what late readings tell of the past
    const signs = await readSigns(facts, past !== undefined); //          diagnosis, pure: ranked causes of silence and of poor charging
    const { verdict, nextCheckAtMs } = judgeState({ ...facts, ...foundBy(signs) }); // diagnosis, pure
    const issued = await issueOutlooks(store, { ...facts, ...foundBy(signs) }, verdict); // forecast, pure, when due
    const { changes, memory, events } = evaluateRules(
      rules, //                                                           alerts, pure
      {
        ...facts,
        ...signs,
        verdict,
        ...issued.current,
        critical: facts.site.critical ?? false,
        fleetRules: fleet?.covering(nodeId) ?? [],
      },
      { open: facts.openAlerts, memory: issued.memory },
    );
    await store.commitAdvance({
      nodeId,
      newsVersion: facts.newsVersion,
      verdict,
      ...(facts.charge === undefined ? {} : { charge: facts.charge }),
      ...(past === undefined ? {} : { past }),
      outlooks: issued.fresh,
      ...(issued.learnt === undefined ? {} : { learnt: issued.learnt }),
      pastCharges: issued.pastCharges,
      alertChanges: changes,
      memory,
      events,
      diagnoses: { silence: signs.silence ?? null, ...(signs.power && { power: signs.power }) },
      yields: signs.yields,
      nextCheckAtMs: Math.min(
        nextCheckAtMs,
        signs.lookAgainAtMs ?? Infinity,
        memory.length === 0 ? Infinity : nowMs + DELAY_LOOK_MS,
      ),
      nowMs,
    }); //                                                                state, outlook, alerts and the word to the page: one transaction
  }

  /**
   * C. SWEEP: the store is the only queue: nodes with news, nodes due for a look, and whatever a crash left behind.
   *
   * @param isOver  asked before each node: a server that stops leaves the rest to the next sweep, its own or another's
   */
  async function sweep(isOver = (): boolean => false): Promise<readonly NodeFailure[]> {
    const failures: NodeFailure[] = [];
    await store.alerts.endPauses(clock.now()); //                         a pause always ends by itself
    await fleet?.look(clock.now()); //                                    alerts, pure: what explains several nodes at once
    for (const nodeId of await store.nodes.due(clock.now(), SWEPT_AT_ONCE)) {
      if (isOver()) break;
      try {
        await advance(nodeId);
      } catch (cause) {
        failures.push({ nodeId, cause });
      }
    }
    return failures; //                                                   schedule reports them; one bad node stops nobody
  }

  return { receive, idle, figures, advance, sweep };
}

const foundBy = ({ silence, harvestStop }: NodeSigns) => ({
  ...(silence === undefined ? {} : { silence }),
  ...(harvestStop === undefined ? {} : { harvestStop }),
});

export type Pipeline = ReturnType<typeof createPipeline>;
