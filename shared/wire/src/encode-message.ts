import {
  metric as entryOf,
  SECOND_MS,
  type MessagePlace,
  type MetricEntry,
  type MetricKey,
  type NodeName,
} from '@duskline/domain';
import { WireEncodeError } from './errors.ts';
import { ABSOLUTE_FROM_S } from './resolve-pack.ts';
import { encodeSenmlCbor } from './senml-cbor.ts';
import { encodeSenmlJson } from './senml-json.ts';
import type { SenmlRecord } from './senml-record.ts';

export type MessageFormat = 'json' | 'cbor';

/** When readings were taken: by a clock that is right, or, without one, how long before sending. */
export type OutgoingTime = { readonly observedAtMs: number } | { readonly ageS: number };

/** Readings of one moment on their way out; `metrics[i]` is what `values[i]` measures, in the unit of the catalogue. */
export type OutgoingSample = OutgoingTime & {
  readonly metrics: readonly MetricKey[];
  readonly values: readonly number[];
};

export interface OutgoingMessage {
  readonly node: NodeName;
  /** Without it the message cannot be acknowledged by `down/ack`. */
  readonly place?: MessagePlace;
  /** Seconds since boot as the message is sent. */
  readonly uptimeS?: number;
  readonly samples: readonly OutgoingSample[];
}

/**
 * A message as a node publishes it. First `boot`, `seq` and `uptime`, at time 0, which is "now" (RFC 8428 §4.5.3): whatever the
 * node's clock says, the server can count back from the uptime. Then the samples; each opens with a base time of its own, which
 * is shorter than a time in every record.
 *
 * @throws WireEncodeError when there is no reading, a value is not finite or no code of its metric, or a time is no time
 */
export function encodeMessage(
  message: OutgoingMessage,
  format: MessageFormat = 'json',
): Uint8Array {
  const records = [...headOf(message), ...message.samples.flatMap(recordsOf)];
  if (!message.samples.some(({ metrics }) => metrics.length > 0)) {
    throw new WireEncodeError('a message without a reading');
  }
  return encodeRecords(message.node, records, format);
}

/** Puts the node's name before every name and writes the pack. */
export function encodeRecords(
  node: NodeName,
  records: readonly SenmlRecord[],
  format: MessageFormat,
): Uint8Array {
  const [first, ...rest] = records;
  const pack = [{ bn: `${node}_`, ...first }, ...rest];
  return format === 'json' ? encodeSenmlJson(pack) : encodeSenmlCbor(pack);
}

/** Place and uptime as ordinary records. */
export function headOf({
  place,
  uptimeS,
}: Pick<OutgoingMessage, 'place' | 'uptimeS'>): readonly SenmlRecord[] {
  return [
    ...(place === undefined ? [] : [reading('boot', place.boot), reading('seq', place.seq)]),
    ...(uptimeS === undefined ? [] : [reading('uptime', uptimeS)]),
  ];
}

function recordsOf(sample: OutgoingSample): readonly SenmlRecord[] {
  const { metrics, values } = sample;
  if (metrics.length !== values.length) {
    throw new WireEncodeError(`${metrics.length} metrics with ${values.length} values`);
  }
  const records = metrics.map((metric, i) => reading(metric, values[i] ?? Number.NaN));
  const [first, ...rest] = records;
  return first === undefined ? [] : [{ bt: baseTimeOf(sample), ...first }, ...rest];
}

function baseTimeOf(sample: OutgoingSample): number {
  if ('ageS' in sample) {
    if (!(sample.ageS >= 0)) throw new WireEncodeError(`an age of ${sample.ageS} s`);
    return sample.ageS === 0 ? 0 : -sample.ageS;
  }
  const timeS = sample.observedAtMs / SECOND_MS;
  if (!(timeS >= ABSOLUTE_FROM_S)) {
    throw new WireEncodeError(
      `a time of ${sample.observedAtMs} ms; a node without a clock sends ages`,
    );
  }
  return timeS;
}

/** One value as a record: with its unit, or as true, false or a word where it is a code. */
export function reading(metric: MetricKey, value: number): SenmlRecord {
  const entry: MetricEntry = entryOf(metric);
  if (!Number.isFinite(value)) throw new WireEncodeError(`${metric} is ${value}`);
  if (entry.codes === undefined) {
    return { n: metric, ...(entry.senml === undefined ? {} : { u: entry.senml }), v: value };
  }
  const word = entry.codes[value];
  if (word === undefined) throw new WireEncodeError(`${metric} has no code ${value}`);
  return entry.codes[0] === 'no' ? { n: metric, vb: value === 1 } : { n: metric, vs: word };
}
