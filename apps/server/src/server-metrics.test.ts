import { expect, it } from 'vitest';
import { createServerMetrics } from './server-metrics.ts';

const NOW_MS = Date.parse('2026-11-25T07:02:00Z');

function metricsOver(store: 'there' | 'away') {
  const asked = <T>(value: T) =>
    store === 'there' ? Promise.resolve(value) : Promise.reject(new Error('away'));
  return createServerMetrics({
    now: () => NOW_MS,
    intake: () => ({
      stored: 12,
      duplicates: 3,
      quarantined: 2,
      overQuota: 0,
      putOff: 1,
      batches: 5,
      waiting: 4,
      oldestWaitMs: 2500,
    }),
    sweepAgeMs: () => 1500,
    newestOutlookAtMs: () => asked(NOW_MS - 90_000),
    outbox: { oldestUnsentMs: () => asked(61_000), list: () => asked([]) },
  });
}

/** `name{labels} value` to a map; lines that do not read so are a fault of the text. */
async function figuresOf({ port }: ReturnType<typeof metricsOver>): Promise<Map<string, number>> {
  const lines = (await port.read()).split('\n').filter((line) => line !== '');
  const samples = lines.filter((line) => !/^# (HELP|TYPE) [a-z_]+ \S/.test(line));
  return new Map(
    samples.map((line) => {
      // Exposition format 0.0.4 (from memory).
      const found = /^([a-z_:]+(?:\{[a-z_]+="[^"\\]*"\})?) (-?[0-9.e+-]+)$/.exec(line);
      if (found === null) throw new Error(`not a sample: ${line}`);
      return [found[1]!, Number(found[2])];
    }),
  );
}

it('says how the server is doing in seconds and totals', async () => {
  const metrics = metricsOver('there');
  metrics.countRejected({ fault: { code: 'json-malformed', reason: '' } });
  metrics.countRejected({ fault: { code: 'json-malformed', reason: '' } });
  metrics.countRejected({ fault: { code: 'node-unknown', reason: '' } });
  const figures = await figuresOf(metrics);
  expect(Object.fromEntries(figures)).toMatchObject({
    duskline_ingest_lag_seconds: 2.5,
    duskline_ingest_queue_messages: 4,
    duskline_stored_total: 12,
    duskline_duplicates_total: 3,
    duskline_put_off_total: 1,
    'duskline_rejected_total{reason="json-malformed"}': 2,
    'duskline_rejected_total{reason="node-unknown"}': 1,
    duskline_sweep_age_seconds: 1.5,
    duskline_forecast_age_seconds: 90,
    duskline_outbox_oldest_seconds: 61,
    duskline_outbox_unsent_messages: 0,
  });
});

it('says the same counts when it is asked twice', async () => {
  const metrics = metricsOver('there');
  await metrics.port.read();
  expect((await figuresOf(metrics)).get('duskline_stored_total')).toBe(12);
});

it('leaves out what the database would have to say while it is away, and says the rest', async () => {
  const figures = await figuresOf(metricsOver('away'));
  expect(figures.get('duskline_stored_total')).toBe(12);
  expect([...figures.keys()].filter((name) => /forecast|outbox/.test(name))).toEqual([]);
});
