import { ok, type Result } from '@duskline/domain';
import { decodeBase64Url, encodeBase64Url } from './base64url.ts';
import { WireEncodeError } from './errors.ts';
import { describe, recordName, refuse, type WireFault } from './faults.ts';
import { scanJson } from './scan-json.ts';
import { senmlLabels, setField, type RecordDraft, type SenmlRecord } from './senml-record.ts';

const utf8 = new TextDecoder('utf-8', { fatal: true });
const encoder = new TextEncoder();

/**
 * The records of a SenML pack in JSON (RFC 8428 §5), as written: base fields are not yet applied.
 *
 * @param bytes UTF-8; a byte order mark is passed over
 * @returns at least one record, or the first thing that is wrong
 */
export function decodeSenmlJson(bytes: Uint8Array): Result<readonly SenmlRecord[], WireFault> {
  const text = decodeText(bytes);
  if (text === undefined) {
    return refuse('text-not-utf8', 'The payload is not valid UTF-8; send JSON as UTF-8 text.');
  }
  const scanned = scanJson(text);
  if (!scanned.ok) return scanned;
  const parsed = parseText(text);
  if (!parsed.ok) return parsed;
  const pack = parsed.value;
  if (!Array.isArray(pack)) {
    return refuse(
      'pack-not-array',
      `The payload is ${describe(pack)}, not an array of records; put the record between [ and ].`,
    );
  }
  if (pack.length === 0) {
    return refuse('pack-empty', 'The pack holds no record; send at least one, or nothing at all.');
  }
  return readRecords(pack);
}

/**
 * SenML JSON without spaces; labels in the order of the RFC's examples.
 *
 * @throws WireEncodeError when a number is not finite
 */
export function encodeSenmlJson(records: readonly SenmlRecord[]): Uint8Array {
  const pack = records.map((record) => {
    const written: Record<string, unknown> = {};
    for (const label of senmlLabels) {
      const value = record[label];
      if (value === undefined) continue;
      if (typeof value === 'number' && !Number.isFinite(value)) {
        throw new WireEncodeError(`${label} is ${value}`);
      }
      written[label] = value instanceof Uint8Array ? encodeBase64Url(value) : value;
    }
    return written;
  });
  return encoder.encode(JSON.stringify(pack));
}

/** Bad UTF-8 must not turn into replacement characters in silence: that would store what nobody sent. */
function decodeText(bytes: Uint8Array): string | undefined {
  try {
    return utf8.decode(bytes);
  } catch {
    return undefined;
  }
}

function parseText(text: string): Result<unknown, WireFault> {
  try {
    return ok(JSON.parse(text) as unknown);
  } catch (cause) {
    return refuse(
      'json-malformed',
      `The payload is not valid JSON${positionOf(cause)}; ${hintFor(text)}.`,
    );
  }
}

function positionOf(cause: unknown): string {
  const position =
    cause instanceof Error ? /at position (\d+)/.exec(cause.message)?.[1] : undefined;
  return position === undefined ? '' : ` at character ${Number(position) + 1}`;
}

function hintFor(text: string): string {
  if (/[[:,]\s*-?(?:NaN|Infinity|nan|inf)\b/.test(text)) {
    return 'NaN and Infinity are not JSON: leave a record out when there is no reading';
  }
  if (/[{,]\s*'/.test(text)) return 'JSON wants double quotes around labels and text';
  if (/,\s*[\]}]/.test(text)) return 'there is a comma before a closing bracket';
  return 'check that it was sent whole and that text is in double quotes';
}

function readRecords(pack: readonly unknown[]): Result<readonly SenmlRecord[], WireFault> {
  const records: SenmlRecord[] = [];
  for (const [index, raw] of pack.entries()) {
    if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) {
      return refuse(
        'record-not-object',
        `${recordName(index)} is ${describe(raw)}; a record is an object such as {"n":"batt_v","u":"V","v":12.6}.`,
      );
    }
    const draft: RecordDraft = {};
    // Own keys only, one at a time: a key named __proto__ is data here and never reaches an object of ours.
    for (const label of Object.keys(raw)) {
      const value = (raw as Readonly<Record<string, unknown>>)[label];
      const field = label === 'vd' ? readData(value, index) : ok(value);
      if (!field.ok) return field;
      const set = setField(draft, label, { value: field.value, index });
      if (!set.ok) return set;
    }
    records.push(draft);
  }
  return ok(records);
}

function readData(value: unknown, index: number): Result<unknown, WireFault> {
  const bytes = typeof value === 'string' ? decodeBase64Url(value) : undefined;
  if (bytes !== undefined) return ok(bytes);
  return refuse(
    'label-type-wrong',
    `${recordName(index)} has ${describe(value)} under vd; send base64 with the URL-safe alphabet and no padding.`,
  );
}
