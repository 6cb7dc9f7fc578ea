import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  type FieldNode,
  type HourlyHistory,
  type Site,
} from '@duskline/domain';
import { advanceLearnt } from '@duskline/forecast';
import type { Advance } from '@duskline/store';
import type { Lessons } from './read-lessons.ts';

const RENEW_MS = DAY_MS / 4;
/** A past that is still coming in is learnt from again this soon, while little of it is known. */
const SOON_MS = 10 * MINUTE_MS;
const LITTLE_DAYS = 7;
const MANY_MORE_DAYS = 3;

/**
 * What more a node has taught, when it is time to look: four times a day, or soon while its past is coming in.
 *
 * @returns the lessons to issue an outlook by, and what is to be kept
 */
export function learnNode(
  {
    node,
    site,
    history,
  }: { readonly node: FieldNode; readonly site: Site; readonly history: HourlyHistory },
  lessons: Lessons,
  nowMs: number,
): { readonly lessons: Lessons; readonly learnt?: NonNullable<Advance['learnt']> } {
  const before = lessons.learnt;
  if (before !== undefined && !isDue(before, history, nowMs)) return { lessons };
  const learntSite = advanceLearnt(before?.site, {
    history,
    position: site.position,
    power: node.power,
    nowMs,
    ...(lessons.batteryFittedAtMs === undefined
      ? {}
      : { batteryInstalledAtMs: lessons.batteryFittedAtMs }),
  });
  return {
    lessons: { ...lessons, learnt: { atMs: nowMs, site: learntSite } },
    learnt: {
      record: { learntAtMs: nowMs, body: learntSite },
      ...(before === undefined ? {} : { fromMs: before.atMs }),
    },
  };
}

function isDue(
  { atMs, site }: NonNullable<Lessons['learnt']>,
  history: HourlyHistory,
  nowMs: number,
): boolean {
  if (nowMs - atMs >= RENEW_MS) return true;
  const known = site.weather.days.length;
  return (
    nowMs - atMs >= SOON_MS && known < LITTLE_DAYS && daysHeard(history) >= known + MANY_MORE_DAYS
  );
}

function daysHeard({ startMs, panelW, batteryV }: HourlyHistory): number {
  const days = new Set<number>();
  panelW.forEach((value, hour) => {
    if (value !== null || (batteryV[hour] ?? null) !== null)
      days.add(Math.floor((startMs + hour * HOUR_MS) / DAY_MS));
  });
  return days.size;
}
