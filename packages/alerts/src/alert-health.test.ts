import {
  DAY_MS,
  HOUR_MS,
  MINUTE_MS,
  USUAL_QUIET,
  type AccountId,
  type Alert,
  type AlertId,
  type NodeId,
  type Person,
  type SiteId,
} from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { alertHealth, type HealthFacts } from './alert-health.ts';

const fromMs = Date.UTC(2026, 9, 1);
const toMs = fromMs + 30 * DAY_MS;

const alert = (id: string, given: Partial<Alert> = {}): Alert => ({
  id: id as AlertId,
  nodeId: 4 as NodeId,
  siteId: 'long-moss' as SiteId,
  rule: 'forecast-low',
  priority: 'P2',
  state: 'ended',
  openedAtMs: fromMs + 10 * HOUR_MS,
  text: { sentence: '', figures: '', byWhen: '', todo: '', bring: '', cautions: [] },
  ...given,
});
const ash = {
  id: 'a' as AccountId,
  name: 'Ash Fell',
  timeZone: 'Europe/London',
  quiet: USUAL_QUIET,
} as Person;

const facts = (given: Partial<HealthFacts>): HealthFacts => ({
  fromMs,
  toMs,
  alerts: [],
  open: [],
  messages: [],
  actedOn: new Set(),
  duties: [],
  people: [ash],
  placeOf: () => 'Long Moss',
  ...given,
});
const figure = (given: Partial<HealthFacts>, key: string) =>
  alertHealth(facts(given)).figures.find((one) => one.key === key)?.value;

describe('the health of the alerts', () => {
  // Worked by hand.
  const joins = 'first' as AlertId;
  const first = alert('first', { takenAtMs: fromMs + 14 * HOUR_MS });
  const follower = alert('second', {
    rule: 'dark-unplanned',
    priority: 'P1',
    openedAtMs: first.openedAtMs + HOUR_MS,
    takenAtMs: first.openedAtMs + 90 * MINUTE_MS,
    endedAtMs: toMs,
    joins,
  });

  it('counts one cause once, from its beginning, with the urgency of the worst of it', () => {
    const { priorities, topTen } = alertHealth(
      facts({ alerts: [{ ...first, endedAtMs: toMs }, follower] }),
    );
    expect(priorities.map(({ alerts }) => alerts)).toEqual([1, 0, 0]);
    expect(priorities[0]?.takenP50Ms).toBe(90 * MINUTE_MS);
    expect(topTen.map(({ alerts, share }) => [alerts, share])).toEqual([[1, 1]]);
    expect(alertHealth(facts({ alerts: [{ ...first, endedAtMs: toMs }, follower] })).alerts).toBe(
      1,
    );
  });

  it('says nine of ten of ten and more, else which it was', () => {
    // Taken after 1, 2, 3 … minutes; the ninth of ten after 9 (nearest rank).
    const takenAfter = (count: number) =>
      Array.from({ length: count }, (_, i) =>
        alert(`t${i}`, {
          siteId: `s${i}` as SiteId,
          takenAtMs: fromMs + 10 * HOUR_MS + (i + 1) * MINUTE_MS,
        }),
      );
    const of = (count: number) => {
      const health = alertHealth(facts({ alerts: takenAfter(count) }));
      const told = health.figures.find(({ key }) => key === 'take-p2');
      return [told?.name, told?.value, health.priorities[1]?.takenP90Ms];
    };
    expect(of(10)).toEqual(['Nine of ten for today, taken within', 9, 9 * MINUTE_MS]);
    expect(of(3)).toEqual(['The slowest of 3 for today, taken within', 3, null]);
    expect(of(1)).toEqual(['The one for today, taken within', 1, null]);
    expect(of(0)).toEqual(['Those for today, taken within', null, null]);
  });

  it('takes a step on any alert of a cause for an answer to the message about it', () => {
    const told = [{ personId: ash.id, alertId: joins, sentAtMs: fromMs + DAY_MS, step: 0 }];
    const alerts = [first, follower];
    expect(figure({ alerts, messages: told, actedOn: new Set(['second']) }, 'acted-on')).toBe(1);
    expect(figure({ alerts, messages: told, actedOn: new Set(['another']) }, 'acted-on')).toBe(0);
  });

  it('calls a cause stale by its first alert, once, and not while it is paused', () => {
    const open = [
      alert('first', { openedAtMs: toMs - 8 * DAY_MS, state: 'new' }),
      alert('second', { openedAtMs: toMs - 7.5 * DAY_MS, state: 'new', joins }),
      alert('other', { openedAtMs: toMs - 6 * DAY_MS, state: 'new' }),
      alert('waits', { openedAtMs: toMs - 20 * DAY_MS, state: 'paused' }),
    ];
    expect(figure({ open }, 'stale')).toBe(1);
  });

  it('sees a source that chatters, and a flood of different causes', () => {
    const atMs = fromMs + 5 * DAY_MS;
    const three = [0, 1, 2].map((i) => alert(`c${i}`, { openedAtMs: atMs + i * HOUR_MS }));
    expect(figure({ alerts: three }, 'chattering')).toBe(1);
    // Four within a quarter of an hour: the half hour from the first of them, of thirty days.
    const four = [0, 1, 2, 3].map((i) =>
      alert(`f${i}`, { siteId: `s${i}` as SiteId, openedAtMs: atMs + i * 5 * MINUTE_MS }),
    );
    expect(figure({ alerts: four }, 'flood')).toBeCloseTo(30 / (30 * 24 * 60), 9);
    const joined = four.map((one) => (one.id === 'f0' ? one : { ...one, joins: 'f0' as AlertId }));
    expect(figure({ alerts: joined }, 'flood')).toBe(0);
  });

  it('counts a call over two channels as one message, and only on call', () => {
    const sentAtMs = fromMs + 12 * HOUR_MS;
    const messages = [0, 1].map((i) => ({
      personId: ash.id,
      alertId: 'first' as AlertId,
      sentAtMs: sentAtMs + i * 1000,
      step: 0,
    }));
    const duties = [{ personId: ash.id, fromMs, untilMs: fromMs + 2 * DAY_MS }] as never;
    const given = { alerts: [first], messages, duties, people: [ash] };
    expect(figure(given as never, 'messages-per-on-call-day')).toBe(0.5);
  });
});
