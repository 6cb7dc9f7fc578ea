import type { AlertJson } from '@duskline/contract';
import { expect, it } from 'vitest';
import { sortAlerts } from './sort-alerts.ts';

const alert = (id: string, change: Partial<AlertJson>): AlertJson => ({
  id,
  siteId: 'rushy-sluice',
  siteName: 'Rushy Sluice',
  rule: 'charge-low',
  priority: 'P2',
  state: 'new',
  openedAt: '2026-11-25T08:00:00Z',
  takenAt: null,
  takenBy: null,
  endedAt: null,
  paused: null,
  handed: null,
  sentence: '',
  figures: '',
  byWhen: '',
  todo: '',
  bring: '',
  cautions: [],
  also: [],
  ...change,
});

it('puts each alert where its reader looks for it, the urgent and the old first', () => {
  const sorted = sortAlerts(
    [
      alert('young', { openedAt: '2026-11-26T08:00:00Z' }),
      alert('old', {}),
      alert('urgent', { priority: 'P1', openedAt: '2026-11-26T09:00:00Z' }),
      alert('mine', { state: 'taken', takenBy: 'Wren Halloway' }),
      alert('hers', { state: 'taken', takenBy: 'Isla Fenwick' }),
      alert('paused', { state: 'paused' }),
      alert('over', { state: 'ended-unseen' }),
      alert('quiet', { state: 'quiet-by-design' }),
      alert('ended', { state: 'ended' }),
    ],
    'Wren Halloway',
  );
  const ids = Object.entries(sorted).map(([part, those]) => [
    part,
    (those as readonly AlertJson[]).map(({ id }) => id),
  ]);
  expect(Object.fromEntries(ids)).toEqual({
    mine: ['mine'],
    free: ['urgent', 'old', 'young'],
    others: ['hers'],
    paused: ['paused'],
    over: ['over'],
  });
});

it('keeps what is asked of one site together', () => {
  const at = (hour: number) => `2026-11-26T0${hour}:00:00Z`;
  const { free } = sortAlerts(
    [
      alert('weir low', { siteId: 'withy-weir', openedAt: at(1) }),
      alert('sluice low', { openedAt: at(2) }),
      alert('broker', { siteId: '', openedAt: at(3) }),
      alert('sluice ahead', { openedAt: at(4) }),
      alert('weir ahead', { siteId: 'withy-weir', openedAt: at(5) }),
      alert('sender', { siteId: '', openedAt: at(6) }),
    ],
    'Wren Halloway',
  );
  expect(free.map(({ id }) => id)).toEqual([
    'weir low',
    'weir ahead',
    'sluice low',
    'sluice ahead',
    'broker',
    'sender',
  ]);
});

it('puts a cause where the most urgent that is seen of it stands, and what of it is over counts no more', () => {
  const also = (state: 'new' | 'ended-unseen'): AlertJson['also'] => [
    {
      id: 'joined',
      rule: 'charge-low',
      priority: 'P2',
      state,
      sentence: '',
      figures: '',
      byWhen: '',
      todo: '',
      bring: '',
    },
  ];
  const order = (state: 'new' | 'ended-unseen') =>
    sortAlerts(
      [
        alert('plain', { siteId: 'withy-weir', priority: 'P2' }),
        alert('ahead', { priority: 'P3', openedAt: '2026-11-24T08:00:00Z', also: also(state) }),
      ],
      'Wren Halloway',
    ).free.map(({ id }) => id);
  expect(order('new')).toEqual(['ahead', 'plain']);
  expect(order('ended-unseen')).toEqual(['plain', 'ahead']);
});
