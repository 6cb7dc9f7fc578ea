import { describe, expect, it } from 'vitest';
import { cardDoubts, type ReadFile } from './card-doubts.ts';

const some = (count: number) => ({ count, examples: [] });
const file = (count: number): ReadFile =>
  ({
    name: 'log.csv',
    form: {
      columns: [{ use: { kind: 'time' } }, { use: { kind: 'metric' } }],
      zone: 'UTC',
      zoneFrom: 'settings',
      dateOrder: 'day-first',
    },
    tally: {
      rows: 40,
      wallRows: 0,
      backSteps: 0,
      skipped: some(count),
      folds: new Map(),
      order: { open: 0, dayFirstProved: false, monthFirstProved: false, examples: [] },
      codes: new Map(),
      badCells: some(count),
      unreadable: some(count),
      tooOld: some(count),
      future: some(count),
    },
  }) as unknown as ReadFile;
const said = (count: number): string =>
  cardDoubts([file(count)], {})
    .map(({ sentence }) => sentence)
    .join('\n');

describe('doubts about a card', () => {
  it('speak of one as of one and of more as of more', () => {
    expect(said(1)).not.toMatch(/\b1 (line|cell)s|\b1 (line|cell)[^.;]* (are|show|lie)\b/);
    expect(said(1)).toContain('1 line cannot be read (cut off, or no time) and is left out.');
    expect(said(1)).toContain('1 cell is neither a number nor “no value” and is left out.');
    expect(said(1)).toContain('1 line is dated in the future and is left out');
    expect(said(2)).toContain('2 lines cannot be read (cut off, or no time) and are left out.');
    expect(said(2)).toContain('2 cells are neither a number nor “no value” and are left out.');
    expect(said(2)).toContain('2 lines are dated in the future and are left out');
  });
});
