import type { NodeInterval, SiteId } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { eventRows } from './events-table.ts';

const siteId = 'long-moss' as SiteId;
const day = (number: number): number => Date.UTC(2026, 10, number);
const told = (states: readonly NodeInterval[]) =>
  eventRows({ siteId, events: [], alerts: [], states }, { fromMs: day(1), madeAtMs: day(20) });
const dark = (fromMs: number, toMs?: number): NodeInterval => ({
  state: 'dark-as-designed',
  fromMs,
  ...(toMs === undefined ? {} : { toMs }),
  cause: 'It stopped itself.',
  evidence: [],
});

describe('the events of an export', () => {
  it('say when a site went dark and when it came back', () => {
    expect(told([dark(day(3), day(6))])).toEqual([
      [
        'long-moss',
        '2026-11-03T00:00:00Z',
        '2026-11-06T00:00:00Z',
        'state',
        'dark as designed: It stopped itself.',
        null,
      ],
    ]);
  });

  it('leave the end open while it lasts, also where it is only cut by the export', () => {
    expect(told([dark(day(18))])[0]?.[2]).toBeNull();
    expect(told([dark(day(18), day(20))])[0]?.[2]).toBeNull();
  });

  it('leave out what was over before, and being up, which is no event', () => {
    const up: NodeInterval = { ...dark(day(6), day(9)), state: 'up' };
    expect(told([{ ...dark(day(-3), day(1)) }, up])).toEqual([]);
  });
});
