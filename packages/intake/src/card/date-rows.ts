import { DAY_MS, type TimeQuality } from '@duskline/domain';
import type { CardForm, CardSettings, DateOrder } from './card-form.ts';
import { exampleOf, happened, type CardTally } from './card-tally.ts';
import { readTime, type CellTime } from './read-time.ts';
import { createZoneClock } from './zone-clock.ts';

export interface RowTime {
  readonly atMs: number;
  readonly timeQuality: TimeQuality;
}

interface RowTimeContext {
  readonly form: CardForm;
  readonly settings: CardSettings;
  /** Days whose repeated hour an earlier reading of the file has settled. */
  readonly foldsSeen: ReadonlySet<number>;
}

/**
 * Dates the lines of one file, in order.
 *
 * An hour that a clock shows twice is settled by the file itself where it goes on through it: when the time falls back, what
 * follows is the second. Lines in an hour that never was are dated as if the clock had not been put forward. Both are *unsure* else.
 */
export function createRowDating({ form, settings, foldsSeen }: RowTimeContext, tally: CardTally) {
  const toInstant = createZoneClock(form.zone);
  const otherOrder: DateOrder = form.dateOrder === 'day-first' ? 'month-first' : 'day-first';
  let lastMs = -Infinity;
  /** Somebody said which hour the last line is of: it shows nothing about the clock. */
  let wasTold = false;

  function weighOrders(cell: string, time: CellTime & { kind: 'wall' }, line: number): void {
    const [first, second] = time.order ?? [0, 0];
    const { order } = tally;
    if (first > 12) order.dayFirstProved = true;
    else if (second > 12) order.monthFirstProved = true;
    else if (first !== second) {
      order.open += 1;
      if (order.examples.length < 3) order.examples.push(exampleOf(line, cell));
    }
    const other = readTime(cell, otherOrder);
    if (other?.kind !== 'wall') return;
    if (other.wallMs < order.otherLastMs) order.otherBackSteps += 1;
    order.otherLastMs = other.wallMs;
  }

  function instantOf(wallMs: number, line: number, text: string): RowTime {
    const found = toInstant(wallMs);
    if (found.kind !== 'twice') wasTold = false;
    if (found.kind === 'plain') return { atMs: found.atMs, timeQuality: 'synced' };
    if (found.kind === 'skipped') {
      happened(tally.skipped, line, text);
      return { atMs: found.atMs, timeQuality: 'unsure' };
    }
    const day = Math.floor(found.firstMs / DAY_MS);
    const fold = tally.folds.get(day) ?? { count: 0, seen: false, example: exampleOf(line, text) };
    fold.count += 1;
    tally.folds.set(day, fold);
    // Below the last line, yet in the hour that comes twice: the clock went back.
    const fellBack = !wasTold && lastMs > found.firstMs && lastMs < found.secondMs + 3_600_000;
    if (fellBack && lastMs - found.firstMs < 3_600_000) fold.seen = true;
    const settled = foldsSeen.has(day) || fold.seen;
    const told = settled ? undefined : settings.repeatedHour;
    wasTold = told !== undefined;
    const second = told === undefined ? fellBack : told === 'second';
    return {
      atMs: second ? found.secondMs : found.firstMs,
      timeQuality: settled || told !== undefined ? 'synced' : 'unsure',
    };
  }

  return {
    /** @returns undefined where the cell is no time */
    date(cell: string, line: number, text: string): RowTime | undefined {
      const time =
        readTime(cell, form.dateOrder) ??
        // A day above 12 where a month should stand proves the other order, and is read so.
        (settings.dateOrder === undefined ? readTime(cell, otherOrder) : undefined);
      if (time === undefined) return undefined;
      if (time.resolutionMs < tally.resolutionMs) tally.resolutionMs = time.resolutionMs;
      if (time.kind === 'instant') return { atMs: time.atMs, timeQuality: 'synced' };
      tally.wallRows += 1;
      if (time.order !== undefined) weighOrders(cell, time, line);
      return instantOf(time.wallMs, line, text);
    },
    /** The line was taken: what follows is measured by it. */
    took(atMs: number): void {
      lastMs = atMs;
    },
  };
}
