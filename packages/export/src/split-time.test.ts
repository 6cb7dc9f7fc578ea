import type { Diagnosis, NodeInterval } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { splitTime } from './split-time.ts';

const HOUR = 3_600_000;
const interval = (
  state: NodeInterval['state'],
  fromH: number,
  toH: number | undefined,
): NodeInterval => ({
  state,
  fromMs: fromH * HOUR,
  ...(toH === undefined ? {} : { toMs: toH * HOUR }),
  cause: 'Not heard.',
  evidence: [],
});
const broken = {
  causes: [{ cause: 'broken', name: 'board, card or power cable failed', probability: 0.97 }],
} as unknown as Diagnosis;
const range = { fromMs: 0, toMs: 10 * HOUR };
const causes = (intervals: readonly NodeInterval[]) =>
  splitTime(range, intervals, { silence: broken }).map(({ gap }) => gap?.cause ?? 'readings');

describe('splitting a range into readings and gaps', () => {
  it('puts down all of a silence that lasts to what is known of it today, by whatever states it went', () => {
    expect(
      causes([
        interval('up', 0, 4),
        interval('silent-unexplained', 4, 6),
        interval('overdue', 6, undefined),
      ]),
    ).toEqual(['readings', 'fault', 'fault']);
  });

  it('says nothing new of an earlier silence, nor of one that is over', () => {
    expect(
      causes([
        interval('silent-unexplained', 0, 2),
        interval('up', 2, 4),
        interval('silent-unexplained', 4, undefined),
      ]),
    ).toEqual(['unknown', 'readings', 'fault']);
    expect(causes([interval('silent-unexplained', 0, 2), interval('up', 2, undefined)])).toEqual([
      'unknown',
      'readings',
    ]);
  });

  it('leaves a time that was dark as designed what it was', () => {
    expect(
      causes([
        interval('up', 0, 4),
        interval('dark-as-designed', 4, 6),
        interval('overdue', 6, undefined),
      ]),
    ).toEqual(['readings', 'dark as designed', 'fault']);
  });
});
