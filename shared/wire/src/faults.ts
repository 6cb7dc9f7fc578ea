import type { MessageFault } from '@duskline/domain';

/** Every reason a message can be refused for. A code is never renamed: it is kept beside the message in quarantine. */
export const faultCodes = [
  // The envelope
  'topic-unknown',
  'payload-empty',
  'payload-too-large',
  'payload-unknown',
  'content-type-unknown',
  'content-type-mismatch',
  'deflate-corrupt',
  'deflate-too-large',
  // The bytes
  'text-not-utf8',
  'text-broken',
  'json-malformed',
  'cbor-malformed',
  'too-deep',
  'too-many-records',
  'pack-not-array',
  'pack-empty',
  'record-not-object',
  // SenML
  'label-doubled',
  'label-must-understand',
  'label-type-wrong',
  'number-not-finite',
  'version-unknown',
  'version-mixed',
  'name-missing',
  'name-invalid',
  'value-missing',
  'value-doubled',
  'time-mixed',
  // Metrics
  'metric-unknown',
  'name-of-another-node',
  'unit-missing',
  'unit-unknown',
  'unit-wrong',
  'unit-ambiguous',
  'value-kind-wrong',
  'value-out-of-bounds',
  'code-unknown',
  'place-incomplete',
  'place-doubled',
  'place-invalid',
  'readings-missing',
  'reading-doubled',
  // State messages
  'word-missing',
  'word-doubled',
  'word-misplaced',
  'settings-incomplete',
  // Time
  'time-in-future',
  'time-impossible',
  // What the server sends
  'ack-malformed',
  'settings-malformed',
] as const;
export type FaultCode = (typeof faultCodes)[number];

/** A fault whose code is one of ours. */
export interface WireFault extends MessageFault {
  readonly code: FaultCode;
}

/** Failure as wire functions return it, ready to be the result. */
export interface Refusal {
  readonly ok: false;
  readonly fault: WireFault;
}

/** Refuses with a code and one plain sentence: what is wrong, where, and how to mend it. */
export const refuse = (code: FaultCode, reason: string): Refusal => ({
  ok: false,
  fault: { code, reason },
});

/** Names a record as people count, from 1. */
export const recordName = (index: number, name?: string): string =>
  name === undefined || name === ''
    ? `Record ${index + 1}`
    : `Record ${index + 1} (${quote(name, '')})`;

const SHOWN_CHARACTERS = 48;

/**
 * Text from outside as it may stand in a sentence: shortened, and without anything a database or a terminal chokes on.
 *
 * @param text any string, also ill-formed UTF-16
 * @param mark the quotation mark put around it
 * @returns well-formed text without control characters, at most 48 characters and the marks
 */
export function quote(text: string, mark = '"'): string {
  const shown = text.length > SHOWN_CHARACTERS ? `${text.slice(0, SHOWN_CHARACTERS - 1)}…` : text;
  return `${mark}${shown.replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu, '\ufffd')}${mark}`;
}

/** What kind of thing stands where something else was expected, in words. */
export function describe(value: unknown): string {
  if (value === null) return 'null';
  if (Array.isArray(value)) return 'an array';
  if (value instanceof Uint8Array) return 'bytes';
  if (typeof value === 'string') return `the text ${quote(value)}`;
  if (typeof value === 'number' || typeof value === 'bigint') return `the number ${value}`;
  if (typeof value === 'boolean') return String(value);
  return value === undefined ? 'nothing' : 'an object';
}
