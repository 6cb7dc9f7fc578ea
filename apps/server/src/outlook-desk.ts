import { outlookJson, type OutlookDesk } from '@duskline/api';
import type {
  IssuedOutlookJson,
  LearntFigureJson,
  LearntJson,
  NodeScoreJson,
  OutlookInputsJson,
} from '@duskline/contract';
import {
  DAY_MS,
  HOUR_MS,
  SECOND_MS,
  type Account,
  type FieldNode,
  type PartKind,
} from '@duskline/domain';
import {
  freshLearnt,
  resetLearnt,
  type GradeFigures,
  type Learnt,
  type LearntPart,
  type LearntSite,
} from '@duskline/forecast';
import type { OutlookKey, OutlookRecord, Store } from '@duskline/store';
import { forecastFrom } from './forecast-at.ts';
import { keptInputs } from './kept-inputs.ts';
import { createOutsideDoor } from './outside-door.ts';
import { learntSiteOf } from './read-lessons.ts';
import { readScore } from './score-desk.ts';
import { scoreJson } from './score-json.ts';
import { shadeMap } from './shade-map.ts';
import { createWhatIfDesk } from './what-if-desk.ts';

const OUTLOOKS_SHOWN = 500;
/** A score of a large fleet is read no oftener than this. */
const SCORE_KEPT_MS = 60 * SECOND_MS;

/** What the API is told about outlooks: reads the store, asks the forecaster, answers in the contract's shapes. */
export function createOutlookDesk(store: Store, now: () => number): OutlookDesk {
  const kept = new Map<
    string,
    { readonly atMs: number; readonly answer: ReturnType<OutlookDesk['score']> }
  >();

  async function learnt(node: FieldNode): Promise<LearntJson> {
    const [record, resets] = await Promise.all([
      store.learnt.of(node.id),
      store.learnt.resets(node.id),
    ]);
    const site = learntSiteOf(record?.body);
    const place = site === undefined ? undefined : await store.sites.find(node.siteId);
    return {
      node: node.name,
      learntAt: record === undefined || site === undefined ? null : iso(record.learntAtMs),
      figures: site === undefined ? [] : figuresOf(site),
      remarks: site === undefined ? [] : remarksOf(site),
      since: site === undefined ? [] : sinceOf(site),
      ...(site === undefined || place === undefined
        ? {}
        : { shade: shadeMap(site.panel.shade, place.position) }),
      resets: resets.map((one) => ({
        part: one.part,
        since: iso(one.sinceMs),
        at: iso(one.atMs),
        by: one.by,
        why: one.why,
      })),
    };
  }

  async function reset(
    node: FieldNode,
    {
      part,
      sinceMs,
      why,
    }: { readonly part: LearntPart; readonly sinceMs: number; readonly why: string },
    by: Account,
  ): Promise<void> {
    const site =
      learntSiteOf((await store.learnt.of(node.id))?.body) ?? freshLearnt(node.power, sinceMs);
    const cleared = resetLearnt(site, part, sinceMs);
    // A battery in the place of another may have another rating: what is learnt of it is measured against the new one.
    const next: LearntSite =
      part === 'battery'
        ? { ...cleared, battery: { ...freshLearnt(node.power, sinceMs).battery, sinceMs } }
        : cleared;
    await store.learnt.reset(node.id, { part, sinceMs, atMs: now(), by: by.name, why }, next);
  }

  return {
    ...createOutsideDoor(store, now),
    ...createWhatIfDesk(store),
    learnt,
    async reset(node, { part, since, why }, by) {
      const sinceMs = since === undefined ? now() : Math.min(Date.parse(since), now());
      await reset(node, { part, sinceMs, why }, by);
      return learnt(node);
    },
    async partReplaced(node, { kind, atMs }, by) {
      const part = learntPartOf(kind);
      if (part !== undefined)
        await reset(node, { part, sinceMs: atMs, why: `The ${kind} was replaced.` }, by);
    },
    async outlooks(node, range) {
      const records = await store.outlooks.list(node.id, { ...range, limit: OUTLOOKS_SHOWN });
      return { outlooks: records.map(issuedJson) };
    },
    inputs: (node, id) => readInputs(store, node, id),
    score(question) {
      const key = JSON.stringify([question.days, question.of, question.node?.id]);
      const before = kept.get(key);
      if (before !== undefined && now() - before.atMs < SCORE_KEPT_MS) return before.answer;
      const answer = scoreAnswer(store, question, now());
      kept.set(key, { atMs: now(), answer });
      answer.catch(() => kept.delete(key));
      return answer;
    },
  };
}

const iso = (atMs: number): string => new Date(atMs).toISOString();

function learntPartOf(kind: PartKind): LearntPart | undefined {
  switch (kind) {
    case 'panel':
    case 'charger':
      return 'panel';
    case 'battery':
      return 'battery';
    case 'board':
    case 'radio':
      return 'load';
    case 'sensor':
      return undefined;
  }
}

function figuresOf({ panel, battery, load, weather }: LearntSite): LearntFigureJson[] {
  const figure = (
    part: LearntPart,
    name: string,
    { value, low, high, unit, fromDays, sureness, how }: Learnt,
  ): LearntFigureJson => ({ part, name, value, low, high, unit, fromDays, sureness, how });
  const { orientation } = panel;
  return [
    figure('panel', 'peak power, in its best hours, against the nameplate', panel.scale),
    ...(orientation === undefined
      ? []
      : [
          figure('panel', 'tilt', orientation.tiltDeg),
          figure('panel', 'azimuth', orientation.azimuthDeg),
        ]),
    figure('battery', 'present capacity', battery.capacityWh),
    figure('battery', 'capacity against the nameplate', battery.health),
    ...(battery.resistanceOhm === undefined
      ? []
      : [figure('battery', 'inner resistance', battery.resistanceOhm)]),
    figure('load', 'load', load.level),
    figure(
      'weather',
      'harvest of the middle day, of all days learnt from, against a cloudless sky',
      weather.typicalRatio,
    ),
  ];
}

const remarksOf = ({ panel, load }: LearntSite): string[] => [
  ...(panel.warning === undefined ? [] : [panel.warning.says]),
  ...load.steps.map(({ says }) => says),
];

const sinceOf = (site: LearntSite): LearntJson['since'] =>
  (['panel', 'battery', 'load', 'weather'] as const).flatMap((part) => {
    const { sinceMs } = site[part];
    return sinceMs === undefined ? [] : [{ part, since: iso(sinceMs) }];
  });

/** `1764000000000` or, of a hindcast, `1764000000000h`. */
const outlookId = ({ issuedAtMs, hindcast }: OutlookKey): string =>
  `${issuedAtMs}${hindcast ? 'h' : ''}`;

function outlookKey(id: string): OutlookKey | undefined {
  const found = /^(\d{12,14})(h?)$/.exec(id);
  return found === null ? undefined : { issuedAtMs: Number(found[1]), hindcast: found[2] === 'h' };
}

function issuedJson(record: OutlookRecord): IssuedOutlookJson {
  const { graded } = record;
  const figures = graded?.figures as GradeFigures | undefined;
  return {
    id: outlookId(record),
    hindcast: record.hindcast,
    reproducible: record.reproducible,
    outlook: outlookJson(record.outlook),
    graded:
      graded === undefined
        ? null
        : {
            darkWithin7Days: graded.happened7 ?? null,
            outcome: graded.outcome ?? null,
            outcomeDays: graded.outcomeDays ?? null,
            crpsDays: figures?.crpsDays ?? null,
          },
  };
}

async function readInputs(
  store: Store,
  node: FieldNode,
  id: string,
): Promise<OutlookInputsJson | undefined> {
  const key = outlookKey(id);
  if (key === undefined) return undefined;
  const [record, kept] = await Promise.all([
    store.outlooks.find(node.id, key),
    keptInputs(store, node, key),
  ]);
  if (record === undefined || kept === undefined) return undefined;
  const { inputs, lessons } = kept;
  const again = forecastFrom(inputs, lessons);
  const { startMs, ...series } = inputs.history;
  const whole = ({
    panelW,
    loadW,
    chargeRatio,
    batteryV,
    batteryA,
    batteryC,
    airC,
  }: typeof series) => ({
    panelW: [...panelW],
    loadW: [...loadW],
    chargeRatio: [...chargeRatio],
    batteryV: [...batteryV],
    batteryA: [...batteryA],
    batteryC: [...batteryC],
    airC: [...airC],
  });
  return {
    id,
    model: record.outlook.model,
    seed: record.outlook.seed,
    nowAt: iso(inputs.facts.nowMs),
    facts: inputs.facts,
    history: { start: iso(startMs), stepS: HOUR_MS / SECOND_MS, ...whole(series) },
    learnt: lessons.learnt?.site ?? null,
    outside: lessons.outside?.facts ?? null,
    sameAgain:
      JSON.stringify(outlookJson(again.outlook)) === JSON.stringify(outlookJson(record.outlook)),
  };
}

async function scoreAnswer(
  store: Store,
  question: Parameters<OutlookDesk['score']>[0],
  nowMs: number,
) {
  const { node } = question;
  const [answer, nodes, sites] = await Promise.all([
    readScore(
      store,
      { days: question.days, of: question.of, ...(node === undefined ? {} : { nodeId: node.id }) },
      nowMs,
    ),
    store.nodes.list(),
    store.sites.list(),
  ]);
  const siteNames = new Map(sites.map((site) => [site.id, site.name]));
  const rows = nodes.flatMap((one): NodeScoreJson[] => {
    const score = answer.byNode.get(one.id);
    if (score === undefined) return [];
    return [
      {
        node: one.name,
        siteId: one.siteId,
        siteName: siteNames.get(one.siteId) ?? one.siteId,
        outlooks: score.chance.count,
        hindcasts: score.chance.hindcasts,
        events: score.chance.events,
        brier: score.chance.brier?.value ?? null,
        crpsDays: score.days.crpsDays?.value ?? null,
        lastWeekCrpsDays: score.days.baselineCrpsDays.lastWeek?.value ?? null,
        cover80: score.days.cover80?.value ?? null,
        unknown: score.unknown,
      },
    ];
  });
  return scoreJson(answer, {
    nowMs,
    fromMs: nowMs - question.days * DAY_MS,
    of: question.of,
    rows,
  });
}
