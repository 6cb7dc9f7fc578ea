import type { AcceptedMessage } from '@duskline/domain';
import type { Sql } from 'postgres';

/** Months made before they are needed, so that midnight on the first is like any other. */
const MONTHS_AHEAD = 3;

/** Sees to it that every sample has a partition: a month has one once a sample of it came. */
export interface SampleMonths {
  /** Makes the months of these messages' samples, and those ahead of their receipt. */
  ensure(messages: readonly AcceptedMessage[]): Promise<void>;
}

export function createSampleMonths(sql: Sql): SampleMonths {
  const made = new Set<number>();
  return {
    async ensure(messages) {
      const wanted = new Set<number>();
      for (const message of messages) {
        const received = monthOf(message.receivedAtMs);
        for (let ahead = 0; ahead <= MONTHS_AHEAD; ahead += 1) wanted.add(received + ahead);
        for (const sample of message.samples) wanted.add(monthOf(sample.observedAtMs));
      }
      const missing = [...wanted].filter((month) => !made.has(month)).sort((a, b) => a - b);
      if (missing.length === 0) return;
      await sql`select ensure_sample_month(month::date) from unnest(${missing.map(firstDayOf)}::text[]) month`;
      for (const month of missing) made.add(month);
    },
  };
}

const MONTHS = 12;

/** Months since year 0, UTC. */
function monthOf(atMs: number): number {
  const at = new Date(atMs);
  return at.getUTCFullYear() * MONTHS + at.getUTCMonth();
}

function firstDayOf(month: number): string {
  const year = String(Math.floor(month / MONTHS)).padStart(4, '0');
  return `${year}-${String((month % MONTHS) + 1).padStart(2, '0')}-01`;
}
