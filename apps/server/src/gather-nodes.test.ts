import { nodeId, type NodeId } from '@duskline/domain';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { gatherNodes } from './gather-nodes.ts';

const [one, two, three] = [1, 2, 3].map((id) => nodeId(id)) as [NodeId, NodeId, NodeId];

describe('changes of many nodes', () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  it('are handed on together, each node once', async () => {
    const handed: (readonly NodeId[])[] = [];
    const gathered = gatherNodes({
      waitMs: 50,
      handOn: async (nodes) => void handed.push(nodes),
      onFault: (cause) => expect.unreachable(String(cause)),
    });
    for (const id of [one, two, one, one]) gathered.add(id);
    await vi.advanceTimersByTimeAsync(49);
    expect(handed).toEqual([]);
    await vi.advanceTimersByTimeAsync(1);
    expect(handed).toEqual([[one, two]]);
    await vi.advanceTimersByTimeAsync(1000);
    expect(handed).toHaveLength(1);
  });

  it('wait while others are still being read, and are not forgotten when that fails', async () => {
    const handed: (readonly NodeId[])[] = [];
    const faults: unknown[] = [];
    let fail = (_cause: Error): void => undefined;
    const gathered = gatherNodes({
      waitMs: 50,
      handOn(nodes) {
        handed.push(nodes);
        return new Promise((_resolve, reject) => (fail = reject));
      },
      onFault: (cause) => faults.push(cause),
    });
    gathered.add(one);
    await vi.advanceTimersByTimeAsync(50);
    gathered.add(two);
    gathered.add(three);
    await vi.advanceTimersByTimeAsync(500);
    expect(handed).toEqual([[one]]);
    fail(new Error('the database is away'));
    await vi.advanceTimersByTimeAsync(50);
    expect(handed).toEqual([[one], [two, three]]);
    expect(faults).toHaveLength(1);
  });
});
