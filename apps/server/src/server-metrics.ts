import type { ApiDeps } from '@duskline/api';
import { SECOND_MS } from '@duskline/domain';
import type { Rejected, ReceiverFigures } from '@duskline/intake';
import type { OutboxRow } from '@duskline/store';
import { Counter, Gauge, Registry } from 'prom-client';

interface Sources {
  readonly now: () => number;
  readonly intake: () => ReceiverFigures;
  readonly sweepAgeMs: () => number;
  /** Newest outlook that was issued for the present, of any node. */
  readonly newestOutlookAtMs: () => Promise<number | undefined>;
  readonly outbox: {
    /** See OutboxStore. */
    oldestUnsentMs(nowMs: number): Promise<number | undefined>;
    list(filter: {
      readonly states: readonly ['due'];
      readonly limit: number;
    }): Promise<readonly OutboxRow[]>;
  };
}

/** More unsent messages than this are not counted one by one. */
const MOST_UNSENT = 1000;

/**
 * What `/metrics` says: the server's own health in base units, counters since the start of this process. Two servers say
 * their own intake each, and the same of what they share. Figures that ask the database are left out while it is away.
 */
export function createServerMetrics(sources: Sources) {
  const registers = [new Registry()];
  const [registry] = registers as [Registry];
  const gauge = (name: string, help: string, read: () => number | Promise<number | undefined>) =>
    new Gauge({
      name,
      help,
      registers,
      async collect() {
        const value = await Promise.resolve(read()).catch(() => undefined);
        // A figure that is not known is no 0.
        if (value === undefined) this.reset();
        else this.set(value);
        if (value === undefined) this.remove();
      },
    });
  const total = (name: string, help: string, read: () => number) =>
    new Counter({
      name,
      help,
      registers,
      collect() {
        this.reset();
        this.inc(read());
      },
    });
  const seconds = (ms: number) => Math.max(0, ms) / SECOND_MS;

  gauge(
    'duskline_ingest_lag_seconds',
    'How long the oldest message not yet settled has waited',
    () => seconds(sources.intake().oldestWaitMs),
  );
  gauge(
    'duskline_ingest_queue_messages',
    'Messages neither stored nor quarantined yet',
    () => sources.intake().waiting,
  );
  total('duskline_stored_total', 'Messages stored', () => sources.intake().stored);
  total(
    'duskline_duplicates_total',
    'Messages that were stored already',
    () => sources.intake().duplicates,
  );
  total(
    'duskline_put_off_total',
    'Messages handed back to the broker unacknowledged',
    () => sources.intake().putOff,
  );
  const rejected = new Counter({
    name: 'duskline_rejected_total',
    help: 'Messages that went to quarantine, by the code of what was wrong',
    labelNames: ['reason'],
    registers,
  });
  gauge('duskline_sweep_age_seconds', 'Since the last sweep over all nodes', () =>
    seconds(sources.sweepAgeMs()),
  );
  gauge('duskline_forecast_age_seconds', 'Age of the newest outlook', async () => {
    const atMs = await sources.newestOutlookAtMs();
    return atMs === undefined ? undefined : seconds(sources.now() - atMs);
  });
  gauge(
    'duskline_outbox_oldest_seconds',
    'How long the oldest message to a person has waited past its time; 0 when none waits',
    async () => seconds((await sources.outbox.oldestUnsentMs(sources.now())) ?? 0),
  );
  gauge(
    'duskline_outbox_unsent_messages',
    `Messages to persons not yet sent, up to ${MOST_UNSENT}`,
    async () => (await sources.outbox.list({ states: ['due'], limit: MOST_UNSENT })).length,
  );
  gauge('duskline_resident_memory_bytes', 'Memory of this process', () =>
    process.memoryUsage.rss(),
  );
  gauge('duskline_uptime_seconds', 'Since this process started', () => process.uptime());

  return {
    /** Counts what went to quarantine. Codes are words of ours, so there are few. */
    countRejected: ({ fault }: Pick<Rejected, 'fault'>) => rejected.inc({ reason: fault.code }),
    port: {
      contentType: registry.contentType,
      read: () => registry.metrics(),
    } satisfies NonNullable<ApiDeps['metrics']>,
  };
}
