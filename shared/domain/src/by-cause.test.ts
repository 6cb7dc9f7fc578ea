import { describe, expect, it } from 'vitest';
import type { Alert, AlertState, Priority } from './alert.ts';
import { byCause } from './by-cause.ts';
import { alertId, nodeId, type SiteId } from './ids.ts';

const alert = (
  number: number,
  over: { joins?: number; state?: AlertState; priority?: Priority; node?: number } = {},
): Alert => {
  const { joins, state = 'new', priority = 'P2', node = 4 } = over;
  const ended = state === 'ended-unseen' || state === 'ended';
  return {
    id: alertId(`${node}-${number}`),
    nodeId: nodeId(node),
    siteId: 'rushy-sluice' as SiteId,
    rule: 'charge-low',
    priority,
    state,
    openedAtMs: number * 60_000,
    ...(ended ? { endedAtMs: 9e6 } : {}),
    text: { sentence: '', figures: '', byWhen: '', todo: '', bring: '', cautions: [] },
    ...(joins === undefined ? {} : { joins: alertId(`${node}-${joins}`) }),
  };
};
const shape = (alerts: readonly Alert[]) =>
  byCause(alerts).map(({ alert: { id }, joined }) => [id, ...joined.map((one) => one.id)]);

describe('alerts by their cause', () => {
  it('are one for each cause, with what joined it beside the first', () => {
    expect(
      shape([
        alert(1),
        alert(2, { joins: 1 }),
        alert(3),
        alert(4, { joins: 1 }),
        alert(1, { node: 5 }),
      ]),
    ).toEqual([['4-1', '4-2', '4-4'], ['4-3'], ['5-1']]);
  });

  it('stay one when the first is over: the oldest that still holds speaks for the others', () => {
    const over = { state: 'ended-unseen' as const };
    expect(shape([alert(2, { joins: 1 }), alert(3, { joins: 1 })])).toEqual([['4-2', '4-3']]);
    expect(shape([alert(1, over), alert(3, { joins: 1 }), alert(2, { joins: 1 })])).toEqual([
      ['4-2', '4-1', '4-3'],
    ]);
    expect(shape([alert(1, over), alert(2, { joins: 1, ...over })])).toEqual([['4-1', '4-2']]);
    // What came and went while the first stands waits for nobody's eye of its own.
    expect(shape([alert(1, { state: 'taken' }), alert(2, { joins: 1, ...over })])).toEqual([
      ['4-1', '4-2'],
    ]);
  });

  it('never hide a danger to people behind what can wait', () => {
    expect(shape([alert(1, { priority: 'P3' }), alert(2, { joins: 1, priority: 'P1' })])).toEqual([
      ['4-1'],
      ['4-2'],
    ]);
    expect(shape([alert(1, { priority: 'P1' }), alert(2, { joins: 1 })])).toEqual([['4-1', '4-2']]);
  });
});
