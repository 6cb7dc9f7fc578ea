import { fleetRules, rules } from '@duskline/alerts';
import { DAY_MS, HOUR_MS, type RuleKey } from '@duskline/domain';
import { TIME_ZONE } from '@duskline/simulator';
import type { Call, WorldOutcome } from './run-world.ts';

export interface CaseResult {
  readonly cause: string;
  readonly name: string;
  readonly seed: number;
  readonly rankedFirst: string | null;
  readonly probability: number | null;
  readonly right: boolean;
  readonly state: string | null;
  /** Calls from the onset on. */
  readonly pushes: number;
  readonly rulesCalled: readonly RuleKey[];
}

export interface FalsePush {
  readonly why: 'past told' | 'dark as designed' | 'first light' | 'backlog' | 'nothing wrong';
  readonly call: Call;
}

export interface DrillReport {
  readonly cases: readonly CaseResult[];
  readonly topCauseRightShare: number;
  readonly pushesPerCauseMax: number;
  readonly falsePushes: number;
  /** Null where the long run of the fleet was left out. */
  readonly pushesPerOnCallDay: number | null;
  readonly nightWakeupsPerWeek: number | null;
  readonly rulesSeenFiring: readonly RuleKey[];
  readonly rulesSeenSilent: readonly RuleKey[];
}

/** Sums up what was seen in all worlds. */
export function judgeDrill(
  worlds: readonly WorldOutcome[],
  long: WorldOutcome | undefined,
): DrillReport {
  const cases = worlds.flatMap(casesOf);
  const right = cases.filter((one) => one.right).length;
  const all = long === undefined ? worlds : [...worlds, long];
  return {
    cases,
    topCauseRightShare: cases.length === 0 ? 0 : right / cases.length,
    pushesPerCauseMax: Math.max(0, ...cases.map(({ pushes }) => pushes)),
    falsePushes: worlds.flatMap(falsePushesOf).length,
    ...duty(long),
    rulesSeenFiring: everyRule.filter((key) => all.some((world) => firedIn(world).has(key))),
    rulesSeenSilent: everyRule.filter((key) => isRightlySilent(worlds, key)),
  };
}

/** Rules of other tables than that of the alerts about nodes and server have no weather to be drilled in. */
const ELSEWHERE: readonly RuleKey[] = ['visit-late'];

export const everyRule: readonly RuleKey[] = [...rules, ...fleetRules]
  .map(({ key }) => key)
  .filter((key) => !ELSEWHERE.includes(key));

/** What can wait for the morning letter (P3) rings nowhere. */
const isPush = ({ priority }: Call): boolean => priority !== 'P3';

function casesOf(world: WorldOutcome): CaseResult[] {
  return world.seen.map((seen) => {
    const calls = callsOf(world, seen.name);
    return {
      cause: seen.cause,
      name: seen.name,
      seed: world.plan.seed,
      rankedFirst: seen.first?.cause ?? null,
      probability: seen.first === undefined ? null : Math.round(seen.first.probability * 100) / 100,
      right: seen.first?.cause === seen.cause,
      state: seen.state ?? null,
      pushes: calls.filter(isPush).length,
      rulesCalled: calls.map(({ rule }) => rule),
    };
  });
}

/** The calls that one cause made: of its nodes, and of the fleet where the fleet's own rules speak of it. */
function callsOf(world: WorldOutcome, name: string): readonly Call[] {
  const { plan, calls, nodes } = world;
  const { fleetCase, ourLineDown } = plan;
  if (fleetCase?.name === name)
    return calls.filter(({ atMs }) => atMs >= fleetCase.expected.onsetMs);
  const members = nodes.filter(
    ({ drill }) => drill.plan.name === name || drill.plan.partOf === name,
  );
  const ids = new Set(members.map(({ node }) => Number(node.id)));
  const onsetMs =
    members.find(({ drill }) => drill.plan.name === name)?.drill.plan.expected?.onsetMs ?? 0;
  const isShared = members.length > 1;
  return calls.filter(
    ({ atMs, nodeId, rule }) =>
      atMs >= onsetMs &&
      atMs < (ourLineDown?.fromMs ?? Infinity) &&
      (ids.has(nodeId) || (isShared && rule === 'shared-link-down')),
  );
}

const LATER_MS = 3 * HOUR_MS;
/** A node that is really low may say so at any time. */
const ABOUT_CHARGE: readonly RuleKey[] = ['forecast-low', 'charge-low'];
const AFTER_DARK: readonly RuleKey[] = ['overdue', 'restart-out-of-reach'];

/** Calls about what is as it should be. */
export function falsePushesOf({ calls, nodes, plan }: WorldOutcome): readonly FalsePush[] {
  return calls.flatMap((call): FalsePush[] => {
    const drill = nodes.find(({ node }) => Number(node.id) === call.nodeId)?.drill;
    if (drill === undefined) return [];
    const isAboutCharge = ABOUT_CHARGE.includes(call.rule);
    if (call.atMs <= plan.liveFromMs + 1000 && !isAboutCharge) return [{ why: 'past told', call }];
    for (const { fromMs, untilMs = Infinity } of drill.darkSpells()) {
      if (call.atMs > fromMs && call.atMs < untilMs && !AFTER_DARK.includes(call.rule))
        return [{ why: 'dark as designed', call }];
      if (call.atMs >= untilMs && call.atMs < untilMs + LATER_MS)
        return [{ why: 'first light', call }];
    }
    const { reach, name, partOf, fires } = drill.plan;
    if (reach?.(call.atMs) === 'clear' && reach(call.atMs - LATER_MS) === 'cut')
      return [{ why: 'backlog', call }];
    const isSound =
      name === undefined &&
      partOf === undefined &&
      fires === undefined &&
      plan.name !== 'the fleet';
    return isSound && !isAboutCharge ? [{ why: 'nothing wrong', call }] : [];
  });
}

/** Rules that opened an alert, or wrote the event of their name. */
function firedIn({ alerts, events }: WorldOutcome): ReadonlySet<RuleKey> {
  return new Set([...alerts.map(({ rule }) => rule), ...events.map(({ kind }) => kind)]);
}

/** Some node, or some world, came near to it, and it said nothing of any that did. */
function isRightlySilent(worlds: readonly WorldOutcome[], key: RuleKey): boolean {
  const isNear = worlds.some(
    ({ plan }) =>
      plan.fleetSilentAbout?.some(({ rule }) => rule === key) === true ||
      plan.nodes.some(({ silentAbout }) => silentAbout?.includes(key) === true),
  );
  return isNear && !worlds.flatMap(spokeWrongly).some(({ rule }) => rule === key);
}

export interface SpokeWrongly {
  readonly rule: RuleKey;
  readonly sentence: string;
}

/** What rules said of nodes, or of the fleet, about which they ought to have been silent. */
export function spokeWrongly({ plan, nodes, alerts, events }: WorldOutcome): SpokeWrongly[] {
  const ofNodes = nodes.flatMap(({ node, drill }) =>
    (drill.plan.silentAbout ?? []).flatMap((rule): SpokeWrongly[] => [
      ...alerts
        .filter((alert) => alert.rule === rule && alert.siteId === node.siteId)
        .map(({ text }) => ({ rule, sentence: `${text.sentence} ${text.figures}` })),
      ...events
        .filter(({ kind, siteId }) => kind === rule && siteId === node.siteId)
        .map(({ siteId }) => ({ rule, sentence: `an event at ${siteId}` })),
    ]),
  );
  const ofFleet = (plan.fleetSilentAbout ?? []).flatMap(({ rule, about, untilMs = Infinity }) =>
    alerts
      .filter((alert) => alert.rule === rule && alert.openedAtMs < untilMs)
      .filter(({ text }) => about === undefined || text.sentence.includes(about))
      .map(({ text }) => ({ rule, sentence: `${text.sentence} ${text.figures}` })),
  );
  return [...ofNodes, ...ofFleet];
}

const hourThere = new Intl.DateTimeFormat('en-GB', {
  hour: 'numeric',
  hourCycle: 'h23',
  timeZone: TIME_ZONE,
});
const NIGHT = { fromHour: 22, untilHour: 7 };

function duty(
  long: WorldOutcome | undefined,
): Pick<DrillReport, 'pushesPerOnCallDay' | 'nightWakeupsPerWeek'> {
  if (long === undefined) return { pushesPerOnCallDay: null, nightWakeupsPerWeek: null };
  const days = (long.plan.endMs - long.plan.liveFromMs) / DAY_MS;
  const atNight = long.calls.filter(({ priority, atMs }) => {
    const hour = Number(hourThere.format(atMs));
    return priority === 'P1' && (hour >= NIGHT.fromHour || hour < NIGHT.untilHour);
  });
  return {
    pushesPerOnCallDay: long.calls.filter(isPush).length / days,
    nightWakeupsPerWeek: atNight.length / (days / 7),
  };
}
