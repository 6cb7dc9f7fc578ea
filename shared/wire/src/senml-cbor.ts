import { decode, encode, type DecodeOptions } from 'cborg';
import { ok, type Result } from '@duskline/domain';
import { WireEncodeError } from './errors.ts';
import { describe, quote, recordName, refuse, type WireFault } from './faults.ts';
import { scanCbor } from './scan-cbor.ts';
import {
  senmlLabels,
  setField,
  type RecordDraft,
  type SenmlLabel,
  type SenmlRecord,
} from './senml-record.ts';

/** RFC 8428 §6, table 4. */
const labelNumbers: Readonly<Record<SenmlLabel, number>> = {
  bver: -1,
  bn: -2,
  bt: -3,
  bu: -4,
  bv: -5,
  bs: -6,
  n: 0,
  u: 1,
  v: 2,
  vs: 3,
  vb: 4,
  s: 5,
  t: 6,
  ut: 7,
  vd: 8,
};
const labelsByNumber: ReadonlyMap<number, SenmlLabel> = new Map(
  senmlLabels.map((label) => [labelNumbers[label], label]),
);

const decodeOptions: DecodeOptions = {
  useMaps: true,
  rejectDuplicateMapKeys: true,
  allowUndefined: false,
  // Decimal fractions: RFC 8428 §6 allows them for numbers.
  tags: { 4: (content) => decimalFraction(content()) },
};

/**
 * The records of a SenML pack in CBOR (RFC 8428 §6), as written: base fields are not yet applied. Labels may be the numbers
 * of the RFC or, for encoders too simple for that, the labels of the JSON form.
 *
 * @returns at least one record, or the first thing that is wrong
 */
export function decodeSenmlCbor(bytes: Uint8Array): Result<readonly SenmlRecord[], WireFault> {
  const scanned = scanCbor(bytes);
  if (!scanned.ok) return scanned;
  const decoded = decodeItem(bytes);
  if (!decoded.ok) return decoded;
  const pack = decoded.value;
  if (!Array.isArray(pack)) {
    return refuse(
      'pack-not-array',
      `The payload is ${describe(pack)}, not an array of records; put the record into an array.`,
    );
  }
  if (pack.length === 0) {
    return refuse('pack-empty', 'The pack holds no record; send at least one, or nothing at all.');
  }
  return readRecords(pack);
}

/**
 * SenML CBOR with numbers for labels and every number in the shortest form that keeps its value.
 *
 * @throws WireEncodeError when a number is not finite
 */
export function encodeSenmlCbor(records: readonly SenmlRecord[]): Uint8Array {
  const pack = records.map((record) => {
    const written = new Map<number, unknown>();
    for (const label of senmlLabels) {
      const value = record[label];
      if (value === undefined) continue;
      if (typeof value === 'number' && !Number.isFinite(value)) {
        throw new WireEncodeError(`${label} is ${value}`);
      }
      written.set(labelNumbers[label], value);
    }
    return written;
  });
  // A plain copy: the encoder hands out a Buffer on Node.js.
  return new Uint8Array(encode(pack, unsorted));
}

/** Keys stay in the order of the RFC's examples; cborg would sort them. */
const unsorted = { mapSorter: () => 0 };

function decodeItem(bytes: Uint8Array): Result<unknown, WireFault> {
  try {
    return ok(decode(bytes, decodeOptions) as unknown);
  } catch (cause) {
    const said = cause instanceof Error ? cause.message.replace(/^CBOR decode error: /, '') : '';
    if (said.includes('repeat map key')) {
      return refuse('label-doubled', 'A record has the same label twice; send it once.');
    }
    return refuse(
      'cbor-malformed',
      `The payload is not valid CBOR (${quote(said, '')}); check that it was sent whole.`,
    );
  }
}

function readRecords(pack: readonly unknown[]): Result<readonly SenmlRecord[], WireFault> {
  const records: SenmlRecord[] = [];
  for (const [index, raw] of pack.entries()) {
    if (!(raw instanceof Map)) {
      return refuse(
        'record-not-object',
        `${recordName(index)} is ${describe(raw)}; a record is a map of labels and values.`,
      );
    }
    const draft: RecordDraft = {};
    for (const [key, value] of raw as ReadonlyMap<unknown, unknown>) {
      const label = typeof key === 'number' ? labelsByNumber.get(key) : key;
      // The table of numbers is closed (RFC 8428 §6), so an unknown number can only be passed over.
      if (typeof label !== 'string') continue;
      const set = setField(draft, label, { value: plainNumber(value), index });
      if (!set.ok) return set;
    }
    records.push(draft);
  }
  return ok(records);
}

/** Integers above 2^53 come as bigint; the RFC asks only for what a double holds. */
const plainNumber = (value: unknown): unknown =>
  typeof value === 'bigint' ? Number(value) : value;

/** mantissa · 10^exponent, rounded once. Anything else becomes `undefined`, which no label accepts. */
function decimalFraction(content: unknown): number | undefined {
  if (!Array.isArray(content) || content.length !== 2) return undefined;
  const [exponent, mantissa] = content as readonly unknown[];
  if (typeof exponent !== 'number' || !Number.isInteger(exponent)) return undefined;
  const whole = typeof mantissa === 'bigint' || Number.isInteger(mantissa);
  return whole ? Number(`${String(mantissa)}e${exponent}`) : undefined;
}
