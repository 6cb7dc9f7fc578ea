import {
  DAY_MS,
  HOUR_MS,
  SECOND_MS,
  type MetricKey,
  type Packet,
  type Sample,
} from '@duskline/domain';
import {
  createSimulatedNode,
  firstState,
  sampleOf,
  surroundingsOf,
  type NodeEvent,
  type Weather,
} from '@duskline/simulator';
import {
  encodeDropped,
  encodeFarewell,
  encodeHello,
  encodeMessage,
  topicFor,
  type UpKind,
} from '@duskline/wire';
import { MESSAGE_BYTES } from './cases/silence-world.ts';
import { nodeNameOf, type NodePlan, type WorldPlan } from './plan.ts';

/** A simulated node with a link of its own: what it says, as packets. */
export interface DrillNode {
  readonly plan: NodePlan;
  /** Lives on to `atMs` and hands over what gets through, in order. */
  readonly liveTo: (atMs: number) => readonly Packet[];
  /** When it last got through, once it has been silent since for longer than three steps; truth, not what the server knows. */
  readonly silentSinceMs: () => number | undefined;
  /** Stretches in which it was dark by its own design. */
  readonly darkSpells: () => readonly { readonly fromMs: number; readonly untilMs?: number }[];
  readonly chargeRatio: () => number;
}

const PACK_SAMPLES = 48;
/** A broker tells of a dropped link after one and a half keep-alives. */
const WILL_AFTER_MS = 90 * SECOND_MS;
const YEAR_2000_S = 946_684_800;

export function createDrillNode(
  plan: NodePlan,
  world: WorldPlan & { readonly weather: Weather },
): DrillNode {
  const { site, index } = plan;
  const name = nodeNameOf(site);
  const { seed, startMs, sampleMs, liveFromMs, weather } = world;
  const drillMs = plan.expected?.lookAtMs ?? world.drillMs ?? world.endMs;
  const simulated = createSimulatedNode(site, {
    seed,
    drillMs,
    surroundings: surroundingsOf(site, index, weather, drillMs, plan.fate),
    mishap: plan.mishap,
    from: withCharge(firstState(site, startMs), plan.startRatio),
  });
  let unsent: Sample[] = [];
  let boot = 1;
  let seq = 0;
  let sentBytes = 0;
  let capped = false;
  let wasCut = false;
  let lastThroughMs = startMs;
  const dark: { fromMs: number; untilMs?: number }[] = [];

  function packet(kind: UpKind, payload: Uint8Array, receivedAtMs: number): Packet {
    // What the past cost is counted as it was lived through, by the hour.
    if (receivedAtMs > liveFromMs) sentBytes += payload.length;
    // With an impossible date nothing is heard of it, though it speaks.
    if (plan.clockResetMs === undefined || receivedAtMs < plan.clockResetMs)
      lastThroughMs = receivedAtMs;
    // The past is told when the fleet begins to live.
    return {
      topic: topicFor(name, kind),
      payload,
      receivedAtMs: Math.max(receivedAtMs, liveFromMs),
    };
  }

  function monthOf(atMs: number): number {
    const day = plan.dataPlan?.renewsOnDay ?? 1;
    const date = new Date(atMs - (day - 1) * DAY_MS);
    return date.getUTCFullYear() * 12 + date.getUTCMonth();
  }
  let month = monthOf(startMs);

  function messages(atMs: number, toldMs: number): Packet[] {
    const packets: Packet[] = [];
    const isReset = plan.clockResetMs !== undefined && atMs >= plan.clockResetMs;
    while (unsent.length > 0) {
      const samples = unsent.slice(0, PACK_SAMPLES);
      unsent = unsent.slice(PACK_SAMPLES);
      const newestMs = samples[samples.length - 1]?.observedAtMs ?? atMs;
      const lane = atMs - newestMs > HOUR_MS || toldMs < liveFromMs ? 'backlog' : 'live';
      seq += 1;
      const payload = encodeMessage({
        node: name,
        place: { boot, seq },
        samples: isReset ? samples.map((one) => misdated(one, plan.clockResetMs ?? 0)) : samples,
      });
      packets.push(packet(lane, payload, atMs));
    }
    return packets;
  }

  function onSample(event: Extract<NodeEvent, { kind: 'sample' }>): void {
    if (event.atMs % sampleMs !== 0) return;
    if (plan.dataPlan === undefined) {
      unsent.push(sampleOf(event));
      return;
    }
    if (event.atMs <= liveFromMs) sentBytes += (MESSAGE_BYTES * sampleMs) / HOUR_MS;
    const sent = sentBytes;
    const read = () => new Map<MetricKey, number>([...event.read(), ['tx_bytes', sent]]);
    unsent.push(sampleOf({ ...event, read }));
  }

  function onWord(event: Exclude<NodeEvent, { kind: 'sample' }>, packets: Packet[]): void {
    const { atMs } = event;
    if (event.kind === 'hello') {
      const last = dark[dark.length - 1];
      if (last !== undefined) last.untilMs = atMs;
      boot += 1;
      seq = 0;
      packets.push(
        packet('state', encodeHello({ node: name, observedAtMs: atMs, bootCauseCode: 1 }), atMs),
      );
      return;
    }
    packets.push(...messages(atMs, atMs));
    dark.push({ fromMs: atMs });
    const reason = 'charge at the shut-down level';
    const { chargeRatio } = event;
    packets.push(
      plan.farewellLost === true
        ? packet('state', encodeDropped(name), atMs + WILL_AFTER_MS)
        : packet(
            'state',
            encodeFarewell({ node: name, observedAtMs: atMs, reason, chargeRatio }),
            atMs,
          ),
    );
  }

  return {
    plan,
    darkSpells: () => dark,
    chargeRatio: () => simulated.chargeRatio(),
    silentSinceMs: () =>
      simulated.state().atMs - lastThroughMs > 3 * world.stepMs ? lastThroughMs : undefined,
    liveTo(atMs) {
      const packets: Packet[] = [];
      const told = atMs <= liveFromMs;
      while (simulated.state().atMs < atMs) {
        const toMs = Math.min(atMs, simulated.state().atMs + sampleMs);
        const isDead = plan.deadFromMs !== undefined && toMs >= plan.deadFromMs;
        for (const event of simulated.stepTo(toMs))
          if (isDead) continue;
          else if (event.kind === 'sample') onSample(event);
          else onWord(event, packets);
      }
      if (monthOf(atMs) !== month) {
        month = monthOf(atMs);
        sentBytes = 0;
        capped = false;
      }
      if (plan.stopsAtCap === true && sentBytes >= (plan.dataPlan?.capBytes ?? Infinity))
        capped = true;
      const isDead = plan.deadFromMs !== undefined && atMs >= plan.deadFromMs;
      const isCut = isDead || capped || plan.reach?.(atMs) === 'cut';
      if (!isCut) {
        wasCut = false;
        // Whoever tells the past tells all of it at the end of it.
        return [
          ...packets,
          ...(told && atMs < liveFromMs ? [] : messages(atMs, told ? startMs : atMs)),
        ];
      }
      if (wasCut) return [];
      wasCut = true;
      // What it said before it died had got through.
      const said = isDead ? packets : [];
      // Who is off has no link that could drop.
      if (dark.length > 0 && dark[dark.length - 1]?.untilMs === undefined) return said;
      const beforeMs = lastThroughMs;
      const will = packet(
        'state',
        encodeDropped(name),
        Math.max(beforeMs, atMs - world.stepMs) + WILL_AFTER_MS,
      );
      lastThroughMs = beforeMs;
      if (isDead) unsent = [];
      return [...said, will];
    },
  };
}

/** The time a clock that was reset to 2000 gives; without an uptime beside it nobody can set it right. */
function misdated(sample: Sample, resetMs: number): Sample {
  const kept = sample.metrics.flatMap((metric, i) =>
    metric === 'uptime' ? [] : [[metric, sample.values[i] ?? 0] as const],
  );
  return {
    ...sample,
    observedAtMs: YEAR_2000_S * 1000 + Math.max(0, sample.observedAtMs - resetMs),
    metrics: kept.map(([metric]) => metric),
    values: kept.map(([, value]) => value),
  };
}

function withCharge(state: ReturnType<typeof firstState>, ratio: number | undefined) {
  if (ratio === undefined) return state;
  // A new battery starts at 0.85 of what it holds.
  const storedWh = (state.battery.storedWh * ratio) / 0.85;
  return { ...state, battery: { ...state.battery, storedWh } };
}
