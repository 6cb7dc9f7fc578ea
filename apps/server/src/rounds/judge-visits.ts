import { judgeVisit } from '@duskline/alerts';
import { solarDayNumber } from '@duskline/diagnosis';
import {
  DAY_MS,
  HOUR_MS,
  type DayBalance,
  type FieldNode,
  type ReserveChange,
  type VisitHorizon,
} from '@duskline/domain';
import { solarDayStartMs } from '@duskline/energy';
import type { KeptVisit, Store } from '@duskline/store';

/** Whole solar days after the visit that must be over. */
const DAYS_AFTER: Readonly<Record<VisitHorizon, number>> = { '48h': 2, '14d': 14 };
const DAYS_BEFORE = 14;
/** A day with fewer hours heard says nothing of its harvest. */
const HOURS_HEARD = 20;

/** So long readings may come late, by a backlog or a card, before "cannot tell" is written down. */
const PATIENCE_MS = 7 * DAY_MS;
/** And so long after a start: what came while nobody looked must first be read. */
const AFTER_START_MS = HOUR_MS;

/**
 * Gives visits their verdicts once the days are over: two whole days after, and fourteen. Each is kept once, whichever
 * server looks first; that nothing can be told is kept only once nothing more is waited for.
 *
 * @param startedAtMs when this server began to look after its nodes
 * @returns how many were given
 */
export async function judgeVisits(store: Store, nowMs: number, startedAtMs = 0): Promise<number> {
  let given = 0;
  for (const horizon of ['48h', '14d'] as const)
    for (const visit of await store.visits.unjudged(horizon, nowMs - DAYS_AFTER[horizon] * DAY_MS))
      if (await judgeOne(store, visit, { horizon, nowMs, startedAtMs })) given += 1;
  return given;
}

async function judgeOne(
  store: Store,
  visit: KeptVisit,
  {
    horizon,
    nowMs,
    startedAtMs,
  }: { readonly horizon: VisitHorizon; readonly nowMs: number; readonly startedAtMs: number },
): Promise<boolean> {
  const site = await store.sites.find(visit.siteId);
  const node = (await store.views.site(visit.siteId))?.node;
  const { backAtMs } = visit;
  if (site === undefined || node === undefined || backAtMs === undefined) return false;
  const { longitudeDeg } = site.position;
  const dayStartMs = solarDayStartMs(backAtMs, longitudeDeg);
  const endMs = dayStartMs + (1 + DAYS_AFTER[horizon]) * DAY_MS;
  // The last of those days must be over, and its yield have been read.
  if (nowMs < endMs + 2 * HOUR_MS) return false;
  const day = solarDayNumber(backAtMs, longitudeDeg);
  const [own, peers, days, reserve] = await Promise.all([
    store.signs.yields(node.id, day - DAYS_BEFORE),
    store.signs.peerYields(node.id, day - DAYS_BEFORE),
    store.views.days(visit.siteId, dayStartMs - DAYS_BEFORE * DAY_MS, endMs),
    reserveChange(store, visit, { node, endMs }),
  ]);
  const harvest = meanOf(
    days.filter(({ dayStartMs: at }) => at > backAtMs),
    'harvestWh',
  );
  const load = meanOf(days, 'loadWh');
  const verdict = judgeVisit({
    horizon,
    day,
    own,
    peers,
    ...(harvest === undefined ? {} : { harvestAfterWhPerDay: harvest }),
    ...(reserve === undefined ? {} : { reserve: inDays(reserve, load) }),
  });
  const isPatient = nowMs < Math.max(endMs + PATIENCE_MS, startedAtMs + AFTER_START_MS);
  if (verdict.kind === 'cannot-tell' && isPatient) return false;
  return store.visits.judge(visit.id, verdict, nowMs);
}

function meanOf(days: readonly DayBalance[], key: 'harvestWh' | 'loadWh'): number | undefined {
  const known = days.flatMap((one) =>
    one.hoursHeard >= HOURS_HEARD && one[key] !== undefined ? [one[key]] : [],
  );
  return known.length === 0 ? undefined : known.reduce((sum, one) => sum + one, 0) / known.length;
}

/** Mean charge of the day before setting out and of the last day looked at, as energy above the shut-down level. */
async function reserveChange(
  store: Store,
  visit: KeptVisit,
  { node, endMs }: { readonly node: FieldNode; readonly endMs: number },
): Promise<ReserveChange | undefined> {
  const setOutMs = Math.floor((visit.setOutAtMs ?? visit.backAtMs ?? 0) / HOUR_MS) * HOUR_MS;
  const lastMs = Math.floor(endMs / HOUR_MS) * HOUR_MS;
  const { battery, shutDownRatio } = node.power;
  const reserveOf = async (fromMs: number, toMs: number): Promise<number | undefined> => {
    const traces = await store.views.weekTraces(fromMs, toMs, [visit.siteId]);
    const known = (traces.get(visit.siteId) ?? []).filter((one) => one !== null);
    if (known.length === 0) return undefined;
    const mean = known.reduce((sum, one) => sum + one, 0) / known.length;
    return Math.max(0, mean - shutDownRatio) * battery.ratedWh;
  };
  const [beforeWh, afterWh] = await Promise.all([
    reserveOf(setOutMs - DAY_MS, setOutMs),
    reserveOf(lastMs - DAY_MS, lastMs),
  ]);
  return beforeWh === undefined || afterWh === undefined ? undefined : { beforeWh, afterWh };
}

const inDays = (reserve: ReserveChange, loadWhPerDay: number | undefined): ReserveChange =>
  loadWhPerDay === undefined || loadWhPerDay <= 0
    ? reserve
    : {
        ...reserve,
        beforeDays: reserve.beforeWh / loadWhPerDay,
        afterDays: reserve.afterWh / loadWhPerDay,
      };
