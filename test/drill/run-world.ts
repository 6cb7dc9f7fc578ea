import { createFleetLook, createPipeline } from '@duskline/server';
import { hashSecret } from '@duskline/broker';
import { HOUR_MS, type Alert, type FieldNode, type RankedCause } from '@duskline/domain';
import { createWeather, TIME_ZONE, withSpells } from '@duskline/simulator';
import { openStore, type Store } from '@duskline/store';
import { encodeSettingsInForce, topicFor } from '@duskline/wire';
import type postgres from 'postgres';
import { createDrillNode, type DrillNode } from './drill-node.ts';
import { nodeNameOf, type NodePlan, type WorldPlan } from './plan.ts';

/** Somebody would have been called. */
export interface Call {
  readonly atMs: number;
  readonly rule: string;
  readonly priority: string;
  readonly nodeId: number;
  readonly site: string;
  readonly sentence: string;
}

/** What a person saw when they looked at one case. */
export interface Seen {
  readonly name: string;
  readonly cause: string;
  readonly first?: RankedCause;
  readonly second?: RankedCause;
  readonly state?: string;
  readonly lookAtMs: number;
}

export interface WorldOutcome {
  readonly plan: WorldPlan;
  readonly nodes: readonly { readonly node: FieldNode; readonly drill: DrillNode }[];
  readonly seen: readonly Seen[];
  readonly calls: readonly Call[];
  readonly alerts: readonly Alert[];
  /** Kinds of events in the logbook, by site. */
  readonly events: readonly { readonly siteId: string; readonly kind: string }[];
  readonly looks: number;
  readonly lookMs: number;
  readonly failures: readonly string[];
}

/** Lives through one world: its past told at once, then step by step, every message through the pipeline. */
export async function runWorld(
  plan: WorldPlan,
  database: { readonly url: string; readonly sql: postgres.Sql },
): Promise<WorldOutcome> {
  const store = await openStore({ url: database.url });
  try {
    return await liveThrough(plan, store, database.sql);
  } finally {
    await store.close();
  }
}

async function liveThrough(
  plan: WorldPlan,
  store: Store,
  sql: postgres.Sql,
): Promise<WorldOutcome> {
  let nowMs = plan.startMs;
  const weather = withSpells(createWeather(plan.seed, plan.startMs), plan.spells);
  const nodes: { node: FieldNode; drill: DrillNode }[] = [];
  for (const one of plan.nodes)
    nodes.push({
      node: await putUp(store, one, plan),
      drill: createDrillNode(one, { ...plan, weather }),
    });
  const isIn = (span: { fromMs: number; untilMs: number } | undefined) =>
    span !== undefined && nowMs >= span.fromMs && nowMs < span.untilMs;
  const fleet = createFleetLook(store, {
    holder: 'drill',
    startedAtMs: plan.liveFromMs,
    health: () =>
      Promise.resolve({
        server: {},
        ...(isIn(plan.rotaGap)
          ? {
              rotaGap: {
                fromMs: nowMs + 24 * HOUR_MS,
                says: 'Nobody from tomorrow 18:00 to 22:00.',
              },
            }
          : {}),
      }),
  });
  const pipeline = createPipeline({
    store,
    fleet,
    clock: { now: () => nowMs },
    sendAck: () => undefined,
    onNews: () => undefined,
    livePerSecond: 1e9,
  });
  const siteNames = new Map(
    nodes.map(({ node, drill }) => [Number(node.id), drill.plan.site.name]),
  );
  const seen: Seen[] = [];
  const calls: Call[] = [];
  const known = new Set<string>();
  const failures: string[] = [];
  let looks = 0;
  let lookMs = 0;

  const spoke = (drill: DrillNode): boolean => {
    const last = drill.darkSpells().at(-1);
    return last !== undefined && Math.max(last.fromMs, last.untilMs ?? 0) > nowMs - plan.stepMs;
  };
  async function look(atStep: boolean): Promise<void> {
    const chosen =
      atStep && plan.looksAt !== undefined
        ? nodes.filter(({ drill }) => plan.looksAt?.(drill.plan, nowMs, spoke(drill)) === true)
        : nodes;
    const startedMs = performance.now();
    await fleet.look(nowMs);
    await Promise.all(
      chosen.map(async ({ node, drill }) => {
        try {
          await pipeline.advance(node.id);
          looks += 1;
        } catch (cause) {
          failures.push(`${drill.plan.site.name}: ${String(cause)}`);
        }
      }),
    );
    lookMs += performance.now() - startedMs;
    const rows = await sql<CallRow[]>`
      select node_id, number, rule, priority, text ->> 'sentence' as sentence,
        (extract(epoch from next_call_at) * 1000)::float8 as at_ms
      from alert where next_call_at is not null`;
    for (const { node_id: nodeId, number, rule, priority, sentence, at_ms: atMs } of rows) {
      const key = `${nodeId}-${number}-${priority}`;
      if (known.has(key)) continue;
      known.add(key);
      calls.push({
        atMs,
        rule,
        priority,
        nodeId,
        site: siteNames.get(nodeId) ?? 'the fleet',
        sentence,
      });
    }
  }

  const pending = [
    ...plan.nodes.flatMap((one) =>
      one.expected === undefined ? [] : [{ name: one.name ?? '', expected: one.expected, of: one }],
    ),
    ...(plan.fleetCase === undefined ? [] : [{ ...plan.fleetCase, of: undefined }]),
  ];
  const done = new Set<string>();
  async function lookAtCases(): Promise<void> {
    for (const { name, expected, of } of pending) {
      const about =
        of === undefined
          ? nodes.find(({ drill }) => drill.plan.name === undefined)
          : nodes.find(({ drill }) => drill.plan === of);
      if (about === undefined || done.has(name)) continue;
      const lookAtMs = lookTime(expected, about.drill.silentSinceMs());
      if (lookAtMs === undefined || nowMs < lookAtMs) continue;
      done.add(name);
      const [found, view] = await Promise.all([
        store.diagnoses.of(about.node.id),
        store.views.ofNode(about.node.id),
      ]);
      const [first, second] = found[expected.question]?.causes ?? [];
      seen.push({
        name,
        cause: expected.cause,
        lookAtMs,
        ...(first === undefined ? {} : { first }),
        ...(second === undefined ? {} : { second }),
        ...(view?.verdict === undefined ? {} : { state: view.verdict.state }),
      });
    }
  }

  async function say(drill: DrillNode, atMs: number): Promise<void> {
    const packets = drill.liveTo(atMs);
    if (isIn(plan.ourLineDown)) return;
    for (const packet of packets) await pipeline.receive(packet);
  }

  async function ask(node: FieldNode, asked: NodePlan['asked']): Promise<void> {
    if (asked === undefined) return;
    const { request, follows } = asked;
    await store.settingsRequests.ask(node.id, { request, askedAtMs: nowMs, askedBy: 'the drill' });
    if (!follows) return;
    const inForce = { logEveryS: plan.sampleMs / 1000, publishEveryS: 3600, ...request };
    await pipeline.receive({
      topic: topicFor(node.name, 'state'),
      payload: encodeSettingsInForce(node.name, inForce),
      receivedAtMs: nowMs,
    });
  }

  nowMs = plan.liveFromMs;
  for (const { drill } of nodes) await say(drill, nowMs);
  await pipeline.idle();
  await look(false);
  // What a database does by itself within a minute of real time.
  await sql`analyze`;
  nowMs += 1000;
  for (const { node, drill } of nodes) await ask(node, drill.plan.asked);
  await look(false);
  for (let atMs = plan.liveFromMs + plan.stepMs; atMs <= plan.endMs; atMs += plan.stepMs) {
    nowMs = atMs;
    await Promise.all(nodes.map(({ drill }) => say(drill, atMs)));
    await look(true);
    await lookAtCases();
  }
  for (const { name, expected } of pending)
    if (!done.has(name))
      seen.push({ name, cause: expected.cause, lookAtMs: plan.endMs, state: 'nobody looked' });
  return {
    plan,
    nodes,
    seen,
    calls,
    failures,
    looks,
    lookMs,
    alerts: await store.alerts.between(0, plan.endMs + HOUR_MS),
    events: await sql<{ siteId: string; kind: string }[]>`
      select distinct site_id as "siteId", kind from site_event`,
  };
}

interface CallRow {
  readonly node_id: number;
  readonly number: number;
  readonly rule: string;
  readonly priority: string;
  readonly sentence: string;
  readonly at_ms: number;
}

const DAY_MS = 24 * HOUR_MS;
const MORNING_MS = 7 * HOUR_MS;

/** The coordinator looks in the morning. */
function lookTime(
  { lookAtMs, afterSilentHours }: { lookAtMs?: number; afterSilentHours?: number },
  silentSinceMs: number | undefined,
): number | undefined {
  if (lookAtMs !== undefined) return lookAtMs;
  if (silentSinceMs === undefined) return undefined;
  const earliestMs = silentSinceMs + (afterSilentHours ?? 5) * HOUR_MS;
  const morningMs = Math.floor(earliestMs / DAY_MS) * DAY_MS + MORNING_MS;
  return morningMs >= earliestMs ? morningMs : morningMs + DAY_MS;
}

async function putUp(store: Store, one: NodePlan, plan: WorldPlan): Promise<FieldNode> {
  const { site, link, dataPlan } = one;
  const made = await store.sites.create({
    id: site.id as FieldNode['siteId'],
    name: site.name,
    position: site.position,
    timeZone: TIME_ZONE,
    access: site.access,
    hazards: site.hazards,
  });
  return store.nodes.create(
    {
      name: nodeNameOf(site),
      siteId: made.id,
      commissionedAtMs: plan.startMs,
      power: { ...site.power, usualGapS: plan.stepMs / 1000 },
      ...(link === undefined ? {} : { link }),
      ...(dataPlan === undefined ? {} : { dataPlan }),
    },
    hashSecret('only in the drill'),
  );
}
