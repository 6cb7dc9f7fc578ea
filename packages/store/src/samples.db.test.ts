import { DAY_MS, HOUR_MS, MINUTE_MS, SECOND_MS, type AcceptedMessage } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import type postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { StoreInputError } from './errors.ts';
import { openStore } from './open-store.ts';
import type { Store } from './store.ts';
import {
  createExampleNode,
  exampleMessage,
  exampleSample,
  randomFrom,
  shuffled,
} from './testing/example-fleet.ts';

const startMs = Date.UTC(2026, 10, 25, 7);
let url: string;
let store: Store;
let otherServer: Store;
let sql: postgres.Sql;

beforeAll(() =>
  openTestStore(async (opened) => {
    ({ store, sql, url } = opened);
    otherServer = await opened.openAnother();
  }),
);

const at = (minute: number, batt_v: number) =>
  exampleSample(startMs + minute * MINUTE_MS, { batt_v, charge: 50 + minute });
const ofBoot = (node: string, boot: number, seq: number): AcceptedMessage =>
  exampleMessage(node, {
    receivedAtMs: startMs + seq * MINUTE_MS,
    place: { boot, seq },
    samples: [at(seq, 12 + seq / 10)],
  });
const countSamples = async (nodeId: number): Promise<number> => {
  const [row] = await sql`select count(*)::integer as count from sample where node_id = ${nodeId}`;
  return Number(row?.['count']);
};

describe('accepting messages', () => {
  it('answers each message in the order given, unknown nodes among them', async () => {
    const node = await createExampleNode(store, 'rushy-sluice');
    const outcomes = await store.samples.accept([
      exampleMessage('nobody-knows-me', { receivedAtMs: startMs, samples: [at(0, 12)] }),
      ofBoot('rushy-sluice', 7, 1),
      ofBoot('rushy-sluice', 7, 2),
      ofBoot('rushy-sluice', 7, 1),
    ]);
    const ack = { boot: 7, seq: 2 };
    expect(outcomes).toEqual([
      { kind: 'unknown-node' },
      { kind: 'stored', nodeId: node.id, ack },
      { kind: 'stored', nodeId: node.id, ack },
      { kind: 'duplicate', nodeId: node.id, ack },
    ]);
    expect(await countSamples(node.id)).toBe(2);
  });

  it('does not take a redelivered message in again under another time', async () => {
    const node = await createExampleNode(store, 'tarn-gill');
    const message = ofBoot('tarn-gill', 1, 1);
    await store.samples.accept([message]);
    const redated = {
      ...message,
      receivedAtMs: message.receivedAtMs + HOUR_MS,
      samples: message.samples.map((sample) => ({
        ...sample,
        observedAtMs: sample.observedAtMs + HOUR_MS,
      })),
    };
    expect(await otherServer.samples.accept([redated])).toEqual([
      { kind: 'duplicate', nodeId: node.id, ack: { boot: 1, seq: 1 } },
    ]);
    expect(await countSamples(node.id)).toBe(1);
    expect((await store.nodes.facts(node.id)).lastHeardAtMs).toBe(message.receivedAtMs);
  });

  it('refuses what lies below the watermark even when the ledger has been pruned', async () => {
    const node = await createExampleNode(store, 'otter-stones');
    await store.samples.accept([ofBoot('otter-stones', 1, 1), ofBoot('otter-stones', 1, 2)]);
    await sql`delete from message where node_id = ${node.id}`;
    const again = ofBoot('otter-stones', 1, 2);
    const redated = { ...again, samples: [at(300, 12)] };
    expect(await store.samples.accept([redated])).toEqual([
      { kind: 'duplicate', nodeId: node.id, ack: { boot: 1, seq: 2 } },
    ]);
    expect(await countSamples(node.id)).toBe(2);
  });

  it('keeps a message without a place from doubling by the times of its samples', async () => {
    const node = await createExampleNode(store, 'brackwell-ford');
    const first = exampleMessage('brackwell-ford', { receivedAtMs: startMs, samples: [at(0, 12)] });
    const both = { ...first, samples: [at(0, 99), at(1, 12.1)] };
    expect(await store.samples.accept([first])).toEqual([{ kind: 'stored', nodeId: node.id }]);
    expect(await store.samples.accept([first])).toEqual([{ kind: 'duplicate', nodeId: node.id }]);
    expect(await store.samples.accept([both])).toEqual([{ kind: 'stored', nodeId: node.id }]);
    const range = { fromMs: startMs, toMs: startMs + HOUR_MS, limit: 10 };
    // The first to come under a key stays.
    expect(await store.samples.raw(node.id, 'batt_v', range)).toEqual([
      { atMs: startMs, value: 12 },
      { atMs: startMs + MINUTE_MS, value: 12.1 },
    ]);
  });

  it('acknowledges only what has come without a gap from the first message of a boot', async () => {
    const node = await createExampleNode(store, 'long-moss');
    const upto = async (boot: number, ...seqs: number[]) => {
      const outcomes = await store.samples.accept(
        seqs.map((seq) => ofBoot('long-moss', boot, seq)),
      );
      const last = outcomes.at(-1);
      return last?.kind === 'unknown-node' ? undefined : last?.ack?.seq;
    };
    expect(await upto(4, 2, 3)).toBeUndefined();
    expect(await upto(4, 1)).toBe(3);
    expect(await upto(4, 5, 7)).toBe(3);
    expect(await upto(4, 4)).toBe(5);
    expect(await upto(5, 1)).toBe(1);
    expect(await upto(4, 6)).toBe(7);
    expect(await countSamples(node.id)).toBe(7);
  });

  it('keeps every double and every millisecond exactly', async () => {
    const node = await createExampleNode(store, 'high-cairn');
    const random = randomFrom(11);
    const samples = Array.from({ length: 500 }, (_, index) =>
      exampleSample(startMs + index * SECOND_MS + Math.floor(random() * 1000), {
        batt_v: (random() - 0.5) * 10 ** Math.floor(random() * 30 - 15),
      }),
    );
    await store.samples.accept([
      exampleMessage('high-cairn', { receivedAtMs: startMs, samples, place: { boot: 1, seq: 1 } }),
    ]);
    const range = { fromMs: startMs, toMs: startMs + HOUR_MS, limit: 1000 };
    expect(await store.samples.raw(node.id, 'batt_v', range)).toEqual(
      samples.map((sample) => ({ atMs: sample.observedAtMs, value: sample.values[0] })),
    );
  });

  it('takes samples of years ago, and of the last millisecond of a month', async () => {
    const node = await createExampleNode(store, 'sallow-bridge');
    const times = [
      Date.UTC(2020, 0, 1),
      Date.UTC(2023, 6, 1) - 1,
      Date.UTC(2023, 6, 1),
      Date.UTC(2027, 0, 1) - 1,
    ];
    await store.samples.accept([
      exampleMessage('sallow-bridge', {
        receivedAtMs: startMs,
        lane: 'backlog',
        samples: times.map((timeMs) => exampleSample(timeMs, { batt_v: 12 })),
      }),
    ]);
    const range = { fromMs: times[0] ?? 0, toMs: Date.UTC(2028, 0, 1), limit: 10 };
    const kept = await store.samples.raw(node.id, 'batt_v', range);
    expect(kept.map((reading) => reading.atMs)).toEqual(times);
  });

  it('refuses a value that is not finite and a time of an unset clock before the database sees them', async () => {
    await createExampleNode(store, 'peat-hag');
    const withSample = (sample: AcceptedMessage['samples'][number]) =>
      store.samples.accept([
        exampleMessage('peat-hag', { receivedAtMs: startMs, samples: [sample] }),
      ]);
    await expect(withSample(at(0, Number.NaN))).rejects.toThrow(StoreInputError);
    await expect(withSample(at(0, Infinity))).rejects.toThrow(StoreInputError);
    await expect(withSample(exampleSample(0, { batt_v: 12 }))).rejects.toThrow(StoreInputError);
  });

  it('keeps a reason that no database text can hold as near as it can', async () => {
    const node = await createExampleNode(store, 'withy-weir');
    const reason = 'a\0b\uD800c "quoted" \\ {brace},';
    await store.samples.accept([
      exampleMessage('withy-weir', {
        receivedAtMs: startMs,
        word: { kind: 'farewell', atMs: startMs, reason },
      }),
    ]);
    expect((await store.nodes.facts(node.id)).lastWord).toEqual({
      kind: 'farewell',
      atMs: startMs,
      reason: 'a\uFFFDb\uFFFDc "quoted" \\ {brace},',
    });
  });
});

describe('the pulse of a node', () => {
  it('remembers when it was heard by which lane, the newest reading and the newest word', async () => {
    const node = await createExampleNode(store, 'blea-edge');
    const before = await store.nodes.facts(node.id);
    expect(before).toEqual({ newsVersion: 1, advancedVersion: 0 });
    await store.samples.accept([
      exampleMessage('blea-edge', {
        receivedAtMs: startMs,
        samples: [at(0, 12)],
        word: { kind: 'hello', atMs: startMs, bootCause: 'orderly' },
      }),
      exampleMessage('blea-edge', {
        receivedAtMs: startMs + HOUR_MS,
        lane: 'backlog',
        samples: [at(-600, 11)],
        word: { kind: 'farewell', atMs: startMs - DAY_MS, reason: 'low' },
      }),
    ]);
    const facts = await store.nodes.facts(node.id);
    // The past told an hour later says that the node was alive then, not that it is now.
    expect(facts).toMatchObject({
      firstHeardAtMs: startMs - DAY_MS,
      lastHeardAtMs: startMs,
      lastLiveAtMs: startMs,
      lastObservedAtMs: startMs,
      lastWord: { kind: 'hello', atMs: startMs, bootCause: 'orderly' },
    });
    expect(facts.newsVersion).toBeGreaterThan(before.newsVersion);
  });

  it('counts the neighbours that were ever heard, and those heard since', async () => {
    const own = await createExampleNode(store, 'ling-ridge');
    const sinceMs = startMs + 30 * DAY_MS;
    const before = await store.nodes.neighbours(own.id, sinceMs);
    await createExampleNode(store, 'never-heard');
    await createExampleNode(store, 'heard-before');
    await createExampleNode(store, 'heard-since');
    await store.samples.accept([
      exampleMessage('ling-ridge', { receivedAtMs: sinceMs + 1, samples: [at(0, 12)] }),
      exampleMessage('heard-before', { receivedAtMs: sinceMs - 1, samples: [at(0, 12)] }),
      exampleMessage('heard-since', { receivedAtMs: sinceMs + 1, samples: [at(0, 12)] }),
    ]);
    const after = await store.nodes.neighbours(own.id, sinceMs);
    expect(after.expected - before.expected).toBe(2);
    expect(after.heard - before.heard).toBe(1);
  });

  it('is not beaten by the word of the broker, nor by a message that was there already', async () => {
    const node = await createExampleNode(store, 'cold-spout');
    await store.samples.accept([ofBoot('cold-spout', 1, 1)]);
    const heard = await store.nodes.facts(node.id);
    await store.samples.accept([
      exampleMessage('cold-spout', {
        receivedAtMs: startMs + DAY_MS,
        word: { kind: 'dropped', atMs: startMs + DAY_MS },
      }),
    ]);
    const dropped = await store.nodes.facts(node.id);
    expect(dropped.lastHeardAtMs).toBe(heard.lastHeardAtMs);
    expect(dropped.lastWord).toEqual({ kind: 'dropped', atMs: startMs + DAY_MS });
    await store.samples.accept([
      { ...ofBoot('cold-spout', 1, 1), receivedAtMs: startMs + 2 * DAY_MS },
    ]);
    expect(await store.nodes.facts(node.id)).toEqual(dropped);
  });

  it('takes a backlog message without samples for what it is: heard when it came', async () => {
    const node = await createExampleNode(store, 'sallow-bridge-2');
    await store.samples.accept([
      exampleMessage('sallow-bridge-2', {
        receivedAtMs: startMs,
        lane: 'backlog',
        place: { boot: 1, seq: 1 },
      }),
    ]);
    expect(await store.nodes.facts(node.id)).toMatchObject({ lastHeardAtMs: startMs });
  });

  it('says the usual gap between samples', async () => {
    const node = await createExampleNode(store, 'nether-reeds');
    const minutes = [0, 1, 2, 3, 60, 61, 62];
    await store.samples.accept([
      exampleMessage('nether-reeds', {
        receivedAtMs: startMs,
        samples: minutes.map((minute) => at(minute, 12)),
      }),
    ]);
    expect((await store.nodes.facts(node.id)).usualGapSeenMs).toBe(MINUTE_MS);
  });
});

describe('any order of arrival, with repeats, through two servers at once', () => {
  const MESSAGES = 240;
  const seed = 20_261_125;

  it(`ends in the same state as in order (seed ${seed})`, async () => {
    const random = randomFrom(seed);
    const names = ['hollin-sike', 'heron-pool', 'fell-foot'];
    const nodes = await Promise.all(names.map((name) => createExampleNode(store, name)));
    const messages = names.flatMap((name) =>
      Array.from({ length: MESSAGES }, (_, index) => {
        const boot = 1 + Math.floor(index / 100);
        return exampleMessage(name, {
          receivedAtMs: startMs + index * MINUTE_MS,
          place: { boot, seq: 1 + (index % 100) },
          samples: [
            exampleSample(startMs + index * MINUTE_MS, {
              batt_v: 11 + random(),
              charge: index / 3,
            }),
            // Another layout with one metric of the first.
            exampleSample(startMs + index * MINUTE_MS + 1, { batt_v: 12, rain: random() }),
          ],
        });
      }),
    );
    const deliveries = shuffled([...messages, ...messages.filter(() => random() < 0.3)], random);
    const batches: AcceptedMessage[][] = [];
    while (deliveries.length > 0) batches.push(deliveries.splice(0, 1 + Math.floor(random() * 25)));
    let stored = 0;
    await Promise.all(
      [store, otherServer, store, otherServer].map(async (server) => {
        for (let batch = batches.shift(); batch !== undefined; batch = batches.shift()) {
          const outcomes = await server.samples.accept(batch);
          stored += outcomes.filter((outcome) => outcome.kind === 'stored').length;
        }
      }),
    );

    expect(stored).toBe(messages.length);
    for (const [index, node] of nodes.entries()) {
      const own = messages.filter((message) => message.node === names[index]);
      expect(await countSamples(node.id)).toBe(2 * MESSAGES);
      const lastMessage = own.at(-1);
      const facts = await store.nodes.facts(node.id);
      expect(facts.lastHeardAtMs).toBe(lastMessage?.receivedAtMs);
      expect(facts.lastObservedAtMs).toBe((lastMessage?.receivedAtMs ?? 0) + 1);
      const latest = new Map(
        (await store.latest.of(node.id)).map((reading) => [reading.metric, reading]),
      );
      expect(latest.get('batt_v')?.value).toBe(12);
      expect(latest.get('charge')?.value).toBe((MESSAGES - 1) / 3);
      expect(latest.get('rain')?.value).toBe(lastMessage?.samples[1]?.values[1]);
      const acks = await store.samples.accept(own.filter((message) => message.place?.seq === 1));
      expect(acks.map((outcome) => outcome.kind !== 'unknown-node' && outcome.ack)).toEqual([
        { boot: 1, seq: 100 },
        { boot: 2, seq: 100 },
        { boot: 3, seq: 40 },
      ]);
    }
  });

  it('gives every layout one number when servers meet it at the same moment', async () => {
    await createExampleNode(store, 'marl-beck');
    const servers = await Promise.all(
      Array.from({ length: 4 }, () => openStore({ url, maxConnections: 2 })),
    );
    const layouts = [
      { soil_temp: 1 },
      { soil_temp: 1, lux: 2 },
      { lux: 2 },
      { water_temp: 3, lux: 2 },
    ];
    await Promise.all(
      servers.map((server, index) =>
        server.samples.accept([
          exampleMessage('marl-beck', {
            receivedAtMs: startMs,
            samples: layouts.map((layout, place) =>
              exampleSample(startMs + index * HOUR_MS + place, layout),
            ),
          }),
        ]),
      ),
    );
    await Promise.all(servers.map((server) => server.close()));
    const twice = await sql`
      select metric_ids from layout group by metric_ids having count(*) > 1
      union all
      select array[count(*)::smallint] from metric group by key having count(*) > 1`;
    expect(twice).toHaveLength(0);
    const [used] = await sql`
      select count(distinct layout_id)::integer as count
      from sample join node on node.id = node_id where node.name = 'marl-beck'`;
    expect(used?.['count']).toBe(layouts.length);
  });
});
