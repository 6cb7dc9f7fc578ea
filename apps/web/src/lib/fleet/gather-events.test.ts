import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import type { LiveEvent } from './apply-live-event.ts';
import { rowFixture } from './fixtures.ts';
import { gatherEvents } from './gather-events.ts';

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

const event = (id: string): LiveEvent => ({ kind: 'site', row: rowFixture({ id }) });

it('hands a burst on once, whole and in its order, and the next burst again', () => {
  const got: string[][] = [];
  const gathered = gatherEvents({
    rows: () => 20,
    onEvents: (events) =>
      got.push(events.map((one) => (one.kind === 'site' ? one.row.site.id : one.alert.id))),
  });
  for (const id of ['a', 'b', 'a']) gathered.add(event(id));
  expect(got).toEqual([]);
  vi.runAllTimers();
  expect(got).toEqual([['a', 'b', 'a']]);
  gathered.add(event('c'));
  vi.runAllTimers();
  expect(got).toEqual([['a', 'b', 'a'], ['c']]);
});

it('hands nothing on after it was stopped', () => {
  const onEvents = vi.fn();
  const gathered = gatherEvents({ rows: () => 20, onEvents });
  gathered.add(event('a'));
  gathered.stop();
  vi.runAllTimers();
  expect(onEvents).not.toHaveBeenCalled();
});
