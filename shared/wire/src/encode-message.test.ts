import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  failed,
  metric as entryOf,
  metricKeys,
  parseNodeName,
  type MetricEntry,
  type MetricKey,
  type NodeName,
} from '@duskline/domain';
import { decodeMessage } from './decode-message.ts';
import { encodeMessage, type MessageFormat, type OutgoingMessage } from './encode-message.ts';
import { encodeDropped, encodeFarewell, encodeHello } from './encode-state.ts';
import { WireEncodeError } from './errors.ts';
import { resolveMessage } from './resolve-message.ts';
import { topicFor } from './topics.ts';

const NOW = Date.UTC(2026, 10, 25, 12);
const node = parseNodeName('otter-stones') as NodeName;
const text = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

function receive(payload: Uint8Array, kind: 'live' | 'backlog' | 'state') {
  const packet = { topic: topicFor(node, kind), payload, receivedAtMs: NOW };
  const decoded = decodeMessage(packet, { inflate: () => failed('corrupt' as const) });
  const resolved = decoded.ok ? resolveMessage(decoded.value, NOW) : decoded;
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  return resolved.value;
}

const valueOf = (metric: MetricKey): fc.Arbitrary<number> => {
  const { codes }: MetricEntry = entryOf(metric);
  // A node whose clock was never set is dated by its uptime, and so does not come out as it went in.
  if (metric === 'clock_src') return fc.integer({ min: 1, max: 3 });
  if (codes !== undefined) return fc.integer({ min: 0, max: codes.length - 1 });
  return fc.double({ min: -1e6, max: 1e6, noNaN: true }).map((v) => (v === 0 ? 0 : v));
};
const stored = metricKeys.filter((key) => key !== 'boot' && key !== 'seq').sort();
const samplesOf = fc.subarray(stored, { minLength: 1 }).chain((metrics) =>
  fc.uniqueArray(
    fc.record({
      // From 2020 to receipt, as far as a clock that is right can say.
      observedAtMs: fc.integer({ min: Date.UTC(2020, 0, 2), max: NOW - 120_000 }),
      metrics: fc.constant(metrics),
      values: fc.tuple(...metrics.map(valueOf)),
    }),
    { minLength: 1, maxLength: 8, selector: ({ observedAtMs }) => observedAtMs },
  ),
);

describe('messages there and back', () => {
  it.each(['json', 'cbor'] as const)('come out of %s as they went in', (format) => {
    fc.assert(
      fc.property(samplesOf, fc.nat(1e6), (samples, seq) => {
        const place = { boot: 3, seq: seq + 1 };
        const message = receive(
          encodeMessage({ node, place, uptimeS: 77, samples }, format),
          'backlog',
        );
        expect(message.place).toEqual(place);
        expect(
          message.samples.map(({ observedAtMs, metrics, values }) => ({
            observedAtMs,
            metrics,
            values,
          })),
        ).toEqual([...samples].sort((a, b) => a.observedAtMs - b.observedAtMs));
      }),
      { seed: 20_261_125, numRuns: 300 },
    );
  });
});

describe('writing a message', () => {
  const samples: OutgoingMessage['samples'] = [
    {
      observedAtMs: NOW - 30_000,
      metrics: ['batt_v', 'charge_stage', 'fs_ro'],
      values: [12.61, 3, 0],
    },
  ];

  it('is plain SenML: place and uptime now, then the readings at their time', () => {
    expect(text(encodeMessage({ node, place: { boot: 7, seq: 41 }, uptimeS: 3600, samples }))).toBe(
      '[{"bn":"otter-stones_","n":"boot","u":"count","v":7},' +
        '{"n":"seq","u":"count","v":41},{"n":"uptime","u":"s","v":3600},' +
        `{"bt":${(NOW - 30_000) / 1000},"n":"batt_v","u":"V","v":12.61},` +
        '{"n":"charge_stage","vs":"float"},{"n":"fs_ro","vb":false}]',
    );
  });

  it('needs neither place nor uptime', () => {
    expect(receive(encodeMessage({ node, samples }), 'live')).toMatchObject({
      samples: [{ metrics: ['batt_v', 'charge_stage', 'fs_ro'], values: [12.61, 3, 0] }],
    });
  });

  it('sends ages where the node has no clock', () => {
    const old: OutgoingMessage['samples'] = [
      { ageS: 90.5, metrics: ['batt_v'], values: [12.5] },
      { ageS: 0, metrics: ['batt_v'], values: [12.6] },
    ];
    for (const format of ['json', 'cbor'] satisfies MessageFormat[]) {
      expect(receive(encodeMessage({ node, samples: old }, format), 'live').samples).toEqual([
        {
          observedAtMs: NOW - 90_500,
          metrics: ['batt_v'],
          values: [12.5],
          timeQuality: 're-dated',
        },
        { observedAtMs: NOW, metrics: ['batt_v'], values: [12.6], timeQuality: 're-dated' },
      ]);
    }
  });

  it.each([
    ['no reading', { node, samples: [] }],
    [
      'a value that is not finite',
      { node, samples: [{ ageS: 0, metrics: ['batt_v'], values: [NaN] }] },
    ],
    ['a value missing', { node, samples: [{ ageS: 0, metrics: ['batt_v'], values: [] }] }],
    ['no such code', { node, samples: [{ ageS: 0, metrics: ['fs_ro'], values: [2] }] }],
    ['an age below 0', { node, samples: [{ ageS: -1, metrics: ['batt_v'], values: [12] }] }],
    ['a time of 1970', { node, samples: [{ observedAtMs: 5, metrics: ['batt_v'], values: [12] }] }],
  ] satisfies readonly (readonly [string, OutgoingMessage])[])(
    'refuses %s as a bug',
    (_case, message) => {
      expect(() => encodeMessage(message)).toThrow(WireEncodeError);
    },
  );
});

describe('writing what a node says of itself', () => {
  it('says hello with the cause of the boot', () => {
    const hello = {
      node,
      place: { boot: 8, seq: 1 },
      uptimeS: 20,
      chargeRatio: 0.55,
      bootCauseCode: 1,
    };
    for (const format of ['json', 'cbor'] as const) {
      const message = receive(encodeHello(hello, format), 'state');
      expect(message.word).toEqual({ kind: 'hello', atMs: NOW, bootCause: 'orderly' });
      expect(message.place).toEqual({ boot: 8, seq: 1 });
      expect(message.samples).toMatchObject([{ metrics: ['boot_cause', 'charge', 'uptime'] }]);
    }
  });

  it('says farewell with reason, charge and time', () => {
    const observedAtMs = NOW - 1500;
    const payload = encodeFarewell({ node, reason: 'charge low', chargeRatio: 0.2, observedAtMs });
    expect(receive(payload, 'state').word).toEqual({
      kind: 'farewell',
      atMs: observedAtMs,
      reason: 'charge low',
      chargeRatio: 0.2,
    });
  });

  it('leaves a will', () => {
    expect(text(encodeDropped(node))).toBe('[{"bn":"otter-stones_","n":"dropped","vb":true}]');
    expect(receive(encodeDropped(node, 'cbor'), 'state').word).toEqual({
      kind: 'dropped',
      atMs: NOW,
    });
  });
});
