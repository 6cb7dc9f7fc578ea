import {
  accountId,
  DAY_MS,
  FLEET_NUMBER,
  HOUR_MS,
  MINUTE_MS,
  parseNodeName,
  type FieldNode,
  type NodeName,
  type SiteId,
  type VisitStep,
} from '@duskline/domain';
import { solarDayNumber } from '@duskline/diagnosis';
import type { Store } from '@duskline/store';
import { openTestStore } from '@duskline/test-harness';
import { randomUUID } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import { createFleetLook } from '../fleet-look.ts';
import { gatherFacts } from '../gather-facts.ts';
import { peopleHealth } from '../watch/people-health.ts';
import { judgeVisits } from './judge-visits.ts';
import { createRoundDesk } from './round-desk.ts';

const LONGITUDE = -2.4;
const visitedMs = Date.UTC(2026, 9, 20, 11);
let store: Store;
let nodes: readonly FieldNode[];
let ash: string;

beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store } = opened);
    nodes = await Promise.all(
      ['tarn-gill', 'long-moss', 'cold-spout', 'thornhow', 'peat-hag'].map(makeNode),
    );
    const account = await store.accounts.create({
      email: 'ash@greywater.example',
      name: 'Ash Fell',
      role: 'volunteer',
      passwordHash: '-',
    });
    ash = account.id;
    await store.people.change(accountId(ash), { phone: '+44 1632 960001' });
  }),
);

async function makeNode(id: string, i: number): Promise<FieldNode> {
  const site = await store.sites.create({
    id: id as SiteId,
    name: id,
    position: { latitudeDeg: 54.4 + i * 0.05, longitudeDeg: LONGITUDE, elevationM: 310 },
    timeZone: 'Europe/London',
    access: 'By the north gate.',
    hazards: 'Bog.',
  });
  return store.nodes.create(
    {
      name: parseNodeName(id) as NodeName,
      siteId: site.id,
      commissionedAtMs: Date.UTC(2026, 0, 1),
      power: {
        panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.15,
        restartRatio: 0.5,
        offStateDrawW: 0.05,
        usualGapS: 30,
      },
    },
    new Uint8Array([i]),
  );
}

async function planned(siteId: SiteId, atMs: number, round?: { id: string; place: number }) {
  const id = randomUUID();
  await store.visits.plan([
    {
      id,
      siteId,
      plannedAtMs: atMs,
      personId: accountId(ash),
      why: 'It charges badly.',
      plannedBy: 'Wren',
      madeAtMs: atMs - DAY_MS,
      ...(round === undefined ? {} : { round }),
    },
  ]);
  return id;
}
const setOut = (atMs: number, backByMs: number): VisitStep => ({
  id: randomUUID(),
  atMs,
  kind: 'set-out',
  backByMs,
  companions: '',
  cautions: [],
});
const back = (atMs: number): VisitStep => ({
  id: randomUUID(),
  atMs,
  kind: 'back',
  found: '',
  deeds: ['cleaned-panel'],
});
const report = (id: string, steps: readonly VisitStep[], nowMs: number) =>
  store.visits.step(id, steps, { by: 'Ash Fell', nowMs });

/** The weather all sites have together; each has a little of its own. */
const sky = (day: number): number => 0.4 + 0.25 * Math.abs(Math.sin(day * 1.7));
async function keepYields(node: FieldNode, factor: (day: number) => number): Promise<void> {
  const visitDay = solarDayNumber(visitedMs, LONGITUDE);
  const yields = Array.from({ length: 30 }, (_, i) => visitDay - 15 + i).map((day) => ({
    day,
    ratio: sky(day) * factor(day) * (1 + 0.02 * Math.sin(day * 12.9898 + node.id)),
  }));
  await store.commitAdvance({
    nodeId: node.id,
    newsVersion: (await store.nodes.facts(node.id)).newsVersion,
    verdict: { state: 'up', sinceMs: visitedMs, cause: 'Heard.', evidence: [] },
    alertChanges: [],
    memory: [],
    yields,
    nextCheckAtMs: visitedMs + 400 * DAY_MS,
    nowMs: visitedMs,
  });
}

describe('the verdicts of a visit', () => {
  it('come after two whole days and after fourteen, once, with the weather taken out', async () => {
    const visitDay = solarDayNumber(visitedMs, LONGITUDE);
    const [cleaned, ...others] = nodes;
    if (cleaned === undefined) throw new Error('no node');
    // A panel that gave 0.70 of what the others did gives 0.84 after: a fifth more, whatever the sky did.
    await keepYields(cleaned, (day) => (day < visitDay ? 0.7 : 0.84));
    for (const node of others) await keepYields(node, () => 1);
    const id = await planned(cleaned.siteId, visitedMs - HOUR_MS);
    await report(
      id,
      [setOut(visitedMs - HOUR_MS, visitedMs + 3 * HOUR_MS), back(visitedMs)],
      visitedMs,
    );
    const horizons = async () =>
      (await store.visits.find(id))?.verdicts.map(({ horizon }) => horizon);

    expect(await judgeVisits(store, visitedMs + 2 * DAY_MS)).toBe(0);
    expect(await judgeVisits(store, visitedMs + 3 * DAY_MS)).toBe(1);
    expect(await horizons()).toEqual(['48h']);
    expect(await judgeVisits(store, visitedMs + 14 * DAY_MS)).toBe(0);
    const late = [
      judgeVisits(store, visitedMs + 15 * DAY_MS),
      judgeVisits(store, visitedMs + 15 * DAY_MS),
    ];
    expect((await Promise.all(late)).reduce((a, b) => a + b)).toBe(1);
    expect(await horizons()).toEqual(['48h', '14d']);

    const verdicts = (await store.visits.find(id))?.verdicts ?? [];
    for (const verdict of verdicts) {
      if (verdict.kind !== 'judged') throw new Error(verdict.says);
      expect(Math.abs(verdict.yieldChange - 0.2)).toBeLessThan(0.05);
    }
    const logbook = await store.events.list(cleaned.siteId, {
      fromMs: 0,
      toMs: visitedMs + 30 * DAY_MS,
      limit: 10,
    });
    expect(logbook.map(({ sentence }) => sentence)).toEqual([
      expect.stringMatching(/^14 days after the visit: yield \+/),
      expect.stringMatching(/^48 hours after the visit: yield \+/),
      'Ash Fell cleaned the panel.',
      expect.stringMatching(/^Ash Fell set out, to be back by /),
      'Visit planned: Ash Fell means to set out Tue 20 Oct 11:00 UTC+1. Why: It charges badly.',
    ]);
  });
});

describe('a visit of which nothing can be told', () => {
  it('waits a week for what comes late, and an hour after a start, before that is written down', async () => {
    const [, , , , lonely] = nodes;
    const atMs = Date.UTC(2026, 5, 1, 11);
    const id = await planned(lonely!.siteId, atMs);
    await report(id, [setOut(atMs, atMs + HOUR_MS), back(atMs)], atMs);
    const dueMs = atMs + 3 * DAY_MS;
    expect(await judgeVisits(store, dueMs)).toBe(0);
    expect(await judgeVisits(store, dueMs + 8 * DAY_MS, dueMs + 8 * DAY_MS)).toBe(0);
    expect(await judgeVisits(store, dueMs + 8 * DAY_MS)).toBe(1);
    expect((await store.visits.find(id))?.verdicts).toMatchObject([{ kind: 'cannot-tell' }]);
  });
});

describe('somebody who is out', () => {
  const outMs = Date.UTC(2026, 10, 25, 9);
  const backByMs = outMs + 4 * HOUR_MS;
  const look = (nowMs: number) =>
    createFleetLook(store, {
      holder: 'test',
      startedAtMs: nowMs - DAY_MS,
      health: async () => ({ ...(await peopleHealth(store, nowMs)), server: {} }),
    }).look(nowMs);
  const lateAlerts = async () =>
    (await store.alerts.open(FLEET_NUMBER)).filter(({ rule }) => rule === 'visit-late');

  it('is under way for the rules of that site, and looked for once for the whole round when late', async () => {
    const round = randomUUID();
    const [first, second, other] = nodes.map(({ siteId }) => siteId);
    const ids = [
      await planned(first!, outMs, { id: round, place: 1 }),
      await planned(second!, outMs, { id: round, place: 2 }),
    ];
    for (const id of ids) await report(id, [setOut(outMs, backByMs)], outMs);
    const underWay = async (siteId: SiteId | undefined, nowMs: number) => {
      const node = nodes.find((one) => one.siteId === siteId);
      return (await gatherFacts(store, node!.id, nowMs))?.visitUnderWay;
    };
    expect(await underWay(first, outMs + HOUR_MS)).toBe(true);
    expect(await underWay(other, outMs + HOUR_MS)).toBe(false);

    await look(backByMs + 14 * MINUTE_MS);
    expect(await lateAlerts()).toEqual([]);
    await look(backByMs + 16 * MINUTE_MS);
    const [alert, ...more] = await lateAlerts();
    expect(more).toEqual([]);
    expect(alert).toMatchObject({ priority: 'P1', subject: `visit:${round}` });
    expect(alert?.text.sentence).toContain('tarn-gill, long-moss');
    expect(alert?.text.todo).toContain('+44 1632 960001');

    for (const id of ids)
      await report(id, [back(backByMs + 20 * MINUTE_MS)], backByMs + 20 * MINUTE_MS);
    await look(backByMs + 21 * MINUTE_MS);
    expect(await lateAlerts()).toEqual([]);
    expect(await underWay(first, backByMs + 21 * MINUTE_MS)).toBe(false);
  });
});

describe('the desk of rounds', () => {
  it('shows every site with its need, and gives nobody more of a place than they may see', async () => {
    const nowMs = Date.UTC(2026, 10, 25, 12);
    const desk = createRoundDesk(store, () => nowMs);
    const all = await desk.rounds(undefined, { sees: () => true, seesPlaces: true });
    expect(all.sites).toHaveLength(nodes.length);
    const own = await desk.rounds(
      { latitudeDeg: 54, longitudeDeg: -2 },
      { sees: (siteId) => siteId === 'peat-hag', seesPlaces: false },
    );
    expect(own.sites.map(({ siteId }) => siteId)).toEqual(['peat-hag']);
    expect(own.sites[0]?.latitudeDeg).toBe(54.6);
    const sheet = await desk.sheet('peat-hag' as SiteId);
    expect(sheet).toMatchObject({ access: 'By the north gate.', hazards: 'Bog.' });
    // By the Nautical Almanac’s rule of thumb (from memory) the sun is up under eight hours in late November at 54.6° north.
    const [today] = sheet?.daylight ?? [];
    const hours = (Date.parse(today?.until ?? '') - Date.parse(today?.from ?? '')) / HOUR_MS;
    expect(hours).toBeGreaterThan(7);
    expect(hours).toBeLessThan(8.5);
    expect(sheet?.cautions.map(({ key }) => key)).toContain('lithium');
  });

  it('names one latest safe date for a site, the same on Rounds and on its field sheet, and what to do there', async () => {
    const [node] = nodes;
    const nowMs = Date.UTC(2026, 10, 25, 12);
    const text = {
      sentence: 'tarn-gill is not being charged.',
      figures: 'Nothing came for two days.',
      byWhen: 'within two days',
      todo: 'Visit: connector, fuse, polarity, charger.',
      bring: 'meter, spare connectors',
      cautions: [],
    };
    await store.commitAdvance({
      nodeId: node!.id,
      newsVersion: (await store.nodes.facts(node!.id)).newsVersion,
      verdict: { state: 'up', sinceMs: visitedMs, cause: 'Heard.', evidence: [] },
      alertChanges: [
        { kind: 'open', rule: 'charging-fault', priority: 'P2', text, why: text.figures },
      ],
      memory: [],
      nextCheckAtMs: nowMs + 400 * DAY_MS,
      nowMs,
    });
    const desk = createRoundDesk(store, () => nowMs);
    const { sites, suggested, travel } = await desk.rounds(undefined, {
      sees: () => true,
      seesPlaces: true,
    });
    const row = sites.find(({ siteId }) => siteId === 'tarn-gill');
    const sheet = await desk.sheet('tarn-gill' as SiteId);
    // Two days after it opened: the table of rules.
    const by = new Date(nowMs + 2 * DAY_MS).toISOString();
    expect([row?.need.at, sheet?.need.at, suggested[0]?.by]).toEqual([by, by, by]);
    for (const purpose of [row?.purpose, sheet?.purpose])
      expect(purpose).toBe(
        'tarn-gill is not being charged. Visit: connector, fuse, polarity, charger. Bring: meter, spare connectors.',
      );
    // Half an hour less than the almanac’s day of seven to eight and a half hours, and less than a working day.
    expect(travel.mostHours).toBeGreaterThan(6.5);
    expect(travel.mostHours).toBeLessThan(8);
  });
});
