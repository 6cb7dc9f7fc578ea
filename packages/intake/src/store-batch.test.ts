import type { AcceptedMessage, NodeId, NodeName } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import type { Accept } from './accept-outcome.ts';
import { storeBatch, type Verdict } from './store-batch.ts';

interface Item {
  readonly text: string;
  readonly message: AcceptedMessage;
}

const item = (text: string): Item => ({
  text,
  message: { node: text as NodeName, lane: 'live', receivedAtMs: 0, samples: [] },
});

const errorOf = (code: string) => Object.assign(new Error(`SQLSTATE ${code}`), { code });

/** Runs a batch against a store that fails as `failure` says, and tells what became of each. */
async function run(texts: readonly string[], failure: (batch: readonly string[]) => unknown) {
  const statements: string[][] = [];
  const verdicts: [string, Verdict['kind']][] = [];
  const accept: Accept = async (messages) => {
    const batch = messages.map(({ node }): string => node);
    statements.push(batch);
    const error = failure(batch);
    if (error !== undefined) throw error as Error;
    return batch.map(() => ({ kind: 'stored', nodeId: 1 as NodeId }));
  };
  await storeBatch(texts.map(item), accept, ({ text }, { kind }) => verdicts.push([text, kind]));
  return { statements, verdicts };
}

const poisonFails =
  (error: unknown) =>
  (batch: readonly string[]): unknown =>
    batch.includes('poison') ? error : undefined;

describe('a batch with a message the store refuses', () => {
  // PostgreSQL, Appendix A: out of range, untranslatable character, check violation, key twice in one statement.
  it.each(['22003', '22P05', '23514', '21000'])('is halved for SQLSTATE %s', async (code) => {
    const { verdicts } = await run(['a', 'poison', 'b'], poisonFails(errorOf(code)));
    expect(verdicts).toEqual([
      ['a', 'settled'],
      ['poison', 'refused'],
      ['b', 'settled'],
    ]);
  });

  it.each([
    ['the store has wrapped the error', new Error('failed', { cause: errorOf('22P05') })],
    ['the store would not even send it', errorOf('store-input')],
    ['the driver could not write it', new RangeError('too deep')],
  ])('is halved when %s', async (_what, error) => {
    const { verdicts } = await run(['poison', 'a'], poisonFails(error));
    expect(verdicts).toEqual([
      ['poison', 'refused'],
      ['a', 'settled'],
    ]);
  });

  it('keeps all others when there are several, in the order of the batch', async () => {
    const texts = ['poison', 'a', 'poison', 'b', 'c', 'poison'];
    const { verdicts } = await run(texts, poisonFails(errorOf('22003')));
    expect(verdicts.map(([text]) => text)).toEqual(texts);
    expect(verdicts.filter(([, kind]) => kind === 'settled').map(([text]) => text)).toEqual([
      ...['a', 'b', 'c'],
    ]);
  });
});

describe('a batch that comes at a bad time', () => {
  // PostgreSQL, Appendix A: deadlock, serialization failure, lock not available, backend terminated; the driver's own word.
  it.each(['40P01', '40001', '55P03', '57P01', 'CONNECTION_CLOSED'])(
    'is tried again, whole, for %s',
    async (code) => {
      let attempts = 0;
      const { statements, verdicts } = await run(['a', 'b'], () =>
        (attempts += 1) < 3 ? errorOf(code) : undefined,
      );
      expect(statements).toEqual([
        ['a', 'b'],
        ['a', 'b'],
        ['a', 'b'],
      ]);
      expect(verdicts.map(([, kind]) => kind)).toEqual(['settled', 'settled']);
    },
  );

  it('is handed back when the time stays bad', async () => {
    const { statements, verdicts } = await run(['a', 'b'], () => errorOf('40P01'));
    expect(statements).toHaveLength(4);
    expect(verdicts.map(([, kind]) => kind)).toEqual(['later', 'later']);
  });

  it('is handed back at once when the database is away', async () => {
    const { statements, verdicts } = await run(['a', 'b'], () => errorOf('ECONNREFUSED'));
    expect(statements).toHaveLength(1);
    expect(verdicts.map(([, kind]) => kind)).toEqual(['later', 'later']);
  });
});

it('a store that answers for too few messages loses none: what has no outcome is handed back', async () => {
  const verdicts: Verdict['kind'][] = [];
  const accept: Accept = async () => [{ kind: 'stored', nodeId: 1 as NodeId }];
  await storeBatch([item('a'), item('b')], accept, (_item, { kind }) => verdicts.push(kind));
  expect(verdicts).toEqual(['settled', 'later']);
});
