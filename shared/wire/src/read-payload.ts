import { ok, type Packet, type Result } from '@duskline/domain';
import { quote, refuse, type WireFault } from './faults.ts';
import { MAX_BYTES, MAX_INFLATED_BYTES } from './pack-limits.ts';
import { decodeSenmlCbor } from './senml-cbor.ts';
import { decodeSenmlJson } from './senml-json.ts';
import type { SenmlRecord } from './senml-record.ts';

/** Undoes zlib deflation (RFC 1950), giving up once the outcome would be longer than `maxBytes`. */
export type Inflate = (
  bytes: Uint8Array,
  maxBytes: number,
) => Result<Uint8Array, 'too-large' | 'corrupt'>;

export interface ReadOptions {
  readonly inflate: Inflate;
  /** Largest payload as it came; 262,144 by default. */
  readonly maxBytes?: number;
  /** Largest payload once inflated; 1,048,576 by default. */
  readonly maxInflatedBytes?: number;
}

type Form = 'json' | 'cbor';

const contentForms: ReadonlyMap<string, Form> = new Map([
  ['application/senml+json', 'json'],
  ['application/json', 'json'],
  ['application/senml+cbor', 'cbor'],
  ['application/cbor', 'cbor'],
]);
/** Content types that say nothing about the form; the first byte does. */
const silentContentTypes = new Set([
  '',
  'application/octet-stream',
  'application/zlib',
  'text/plain',
]);

/**
 * The records in a payload: JSON or CBOR, deflated or not, told apart by the content type where there is one and by the first
 * byte otherwise. No form begins like another: `[` or space is JSON, 0x80–0x9f an array in CBOR, 0x78 zlib.
 */
export function readPayload(
  packet: Packet,
  options: ReadOptions,
): Result<readonly SenmlRecord[], WireFault> {
  const { payload } = packet;
  const maxBytes = options.maxBytes ?? MAX_BYTES;
  if (payload.length === 0) {
    return refuse('payload-empty', 'The payload is empty; send an array of SenML records.');
  }
  if (payload.length > maxBytes) {
    return refuse(
      'payload-too-large',
      `The payload is ${payload.length} bytes, more than ${maxBytes}; split it into several messages.`,
    );
  }
  const declared = declaredForm(packet.contentType);
  if (!declared.ok) return declared;
  const inflated = isDeflated(payload) ? inflate(payload, options) : ok(payload);
  if (!inflated.ok) return inflated;
  const form = sniff(inflated.value);
  if (!form.ok) return form;
  if (declared.value !== undefined && declared.value !== form.value) {
    return refuse(
      'content-type-mismatch',
      `The content type says ${declared.value.toUpperCase()}, the bytes are ${form.value.toUpperCase()}; correct the content type or leave it out.`,
    );
  }
  return form.value === 'json' ? decodeSenmlJson(inflated.value) : decodeSenmlCbor(inflated.value);
}

function declaredForm(contentType: string | undefined): Result<Form | undefined, WireFault> {
  const mediaType = (contentType ?? '').split(';', 1)[0]?.trim().toLowerCase() ?? '';
  if (silentContentTypes.has(mediaType)) return ok(undefined);
  const form = contentForms.get(mediaType);
  if (form !== undefined) return ok(form);
  return refuse(
    'content-type-unknown',
    `The content type ${quote(mediaType)} is not spoken here; send application/senml+json or application/senml+cbor.`,
  );
}

/** A zlib head with the usual window: 0x78, and a second byte that makes the pair a multiple of 31 (RFC 1950 §2.2, from memory). */
function isDeflated(bytes: Uint8Array): boolean {
  const [first, second] = bytes;
  return first === 0x78 && second !== undefined && ((first << 8) | second) % 31 === 0;
}

function inflate(bytes: Uint8Array, options: ReadOptions): Result<Uint8Array, WireFault> {
  const maxBytes = options.maxInflatedBytes ?? MAX_INFLATED_BYTES;
  const inflated = options.inflate(bytes, maxBytes);
  if (!inflated.ok && inflated.fault === 'corrupt') {
    return refuse('deflate-corrupt', 'The payload does not inflate; check that it was sent whole.');
  }
  if (!inflated.ok || inflated.value.length > maxBytes) {
    return refuse(
      'deflate-too-large',
      `The payload inflates to more than ${maxBytes} bytes; split it into several messages.`,
    );
  }
  return inflated;
}

const SPACES = new Set([0x20, 0x09, 0x0a, 0x0d]);
const BYTE_ORDER_MARK = [0xef, 0xbb, 0xbf];

function sniff(bytes: Uint8Array): Result<Form, WireFault> {
  let at = BYTE_ORDER_MARK.every((byte, i) => bytes[i] === byte) ? BYTE_ORDER_MARK.length : 0;
  while (SPACES.has(bytes[at] ?? 0)) at += 1;
  const first = bytes[at];
  if (first === 0x5b) return ok('json');
  if (at === 0 && first !== undefined && first >= 0x80 && first <= 0x9f) return ok('cbor');
  if (first === 0x7b) {
    return refuse(
      'pack-not-array',
      'The payload is a single object; SenML is an array of records: put it between [ and ].',
    );
  }
  if (first === 0x1f && bytes[1] === 0x8b) {
    return refuse('payload-unknown', 'The payload is gzip; deflate with zlib instead (RFC 1950).');
  }
  return refuse(
    'payload-unknown',
    'The payload is neither JSON nor CBOR nor zlib; send an array of SenML records.',
  );
}
