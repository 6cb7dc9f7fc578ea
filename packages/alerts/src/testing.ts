import {
  DAY_MS,
  HOUR_MS,
  nodeId,
  type Alert,
  type CauseKey,
  type Diagnosis,
  type FieldNode,
  type LatestReading,
  type MetricKey,
  type NodeName,
  type Outlook,
  type RuleMemory,
  type Site,
  type SiteId,
} from '@duskline/domain';
import { evaluateRules } from './evaluate-rules.ts';
import type { RuleFacts } from './rule.ts';
import { rules } from './rules/index.ts';

/** An invented node and what rules see of it, for tests only. */
export const startMs = Date.UTC(2026, 10, 25, 9);
export const site: Site = {
  id: 'thornhow' as SiteId,
  name: 'Thornhow',
  position: { latitudeDeg: 54.6, longitudeDeg: -2.4, elevationM: 120 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
export const node: FieldNode = {
  id: nodeId(4),
  name: 'thornhow-1' as NodeName,
  siteId: site.id,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 100, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.6,
    offStateDrawW: 0.1,
    usualGapS: 60,
  },
  commissionedAtMs: startMs - 300 * DAY_MS,
};
export type Given = Partial<RuleFacts> & { readonly readings?: Partial<Record<MetricKey, number>> };
export const verdict = (state: RuleFacts['verdict']['state']) => ({
  state,
  sinceMs: startMs - 3 * DAY_MS,
  cause: 'It is so.',
  evidence: [],
});
export const charge = (ratio: number) => ({
  ratio,
  lowRatio: ratio - 0.03,
  highRatio: ratio + 0.03,
  method: 'gauge' as const,
  observedAtMs: Infinity,
});
export const likely = (cause: CauseKey, probability = 0.9): Diagnosis => ({
  question: 'power',
  madeAtMs: startMs,
  causes: [
    {
      cause,
      name: cause,
      probability,
      evidenceFor: ['so'],
      evidenceAgainst: [],
      settledBy: 'a look',
    },
  ],
});
export const figures = (over: object) => ({ badDays: 0, goodDays: 3, yieldDays: 10, ...over });
export const outlook = (p: number) =>
  ({
    kind: 'empties-in',
    p10Days: 1,
    p90Days: 4,
    darkWithin3DaysProbability: p,
    darkWithin7DaysProbability: p,
    darkWithin14DaysProbability: p,
    drivers: { harvestWhPerDay: 6, loadWhPerDay: 24, reserveWh: 30 },
  }) as unknown as Outlook;
export const outOfReach = {
  kind: 'insufficient-data',
  horizonDays: 30,
  back: { kind: 'out-of-reach' },
} as Outlook;

/** A node looked at every hour for `days`. */
export function play(
  phases: readonly { readonly days: number; readonly given: Given }[],
  { taken = false }: { readonly taken?: boolean } = {},
) {
  let open: Alert[] = [];
  let memory: readonly RuleMemory[] = [];
  const opened: string[] = [];
  const recorded: string[] = [];
  const joins: string[] = [];
  const callsAgain: string[] = [];
  let nowMs = startMs;
  for (const { days, given } of phases)
    for (let hour = 0; hour < days * 24; hour++, nowMs += HOUR_MS) {
      const { readings = {}, ...over } = given;
      const facts: RuleFacts = {
        nowMs,
        site,
        node,
        verdict: verdict('up'),
        charge: charge(0.7),
        lastHeardAtMs: nowMs,
        openAlerts: open,
        latest: Object.entries(readings).map(([metric, value]): LatestReading => ({
          metric: metric as MetricKey,
          observedAtMs: nowMs,
          value,
        })),
        ...over,
        ...(over.outlook === undefined ? {} : { outlook: { ...over.outlook, issuedAtMs: nowMs } }),
      };
      const run = evaluateRules(rules, facts, { open, memory });
      memory = run.memory;
      recorded.push(...run.events.map(({ kind }) => kind));
      for (const change of run.changes)
        if (change.kind === 'open') {
          opened.push(change.rule);
          if (change.joins !== undefined) joins.push(change.rule);
          if (change.callsAllTheSame === true) callsAgain.push(change.rule);
          open.push({
            ...change,
            id: change.rule as never,
            nodeId: node.id,
            siteId: site.id,
            state: taken ? 'taken' : 'new',
            openedAtMs: nowMs,
          });
        } else if (change.kind === 'end') open = open.filter(({ id }) => id !== change.id);
    }
  return { opened, recorded, joins, callsAgain, open: open.map(({ rule }) => rule) };
}
