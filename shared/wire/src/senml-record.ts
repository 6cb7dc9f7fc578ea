import { ok, type Result } from '@duskline/domain';
import { describe, quote, recordName, refuse, type WireFault } from './faults.ts';

/**
 * One SenML Record as written, before base fields are applied (RFC 8428 §4.1, §4.2). Labels are those of the RFC.
 * Times are seconds, and relative to now below 2^28.
 */
export interface SenmlRecord {
  readonly bn?: string;
  readonly bt?: number;
  readonly bu?: string;
  readonly bv?: number;
  readonly bs?: number;
  readonly bver?: number;
  readonly n?: string;
  readonly u?: string;
  readonly t?: number;
  readonly ut?: number;
  readonly v?: number;
  readonly vs?: string;
  readonly vb?: boolean;
  readonly vd?: Uint8Array;
  readonly s?: number;
}

export type SenmlLabel = keyof SenmlRecord;

/** A record while its labels are being read. */
export type RecordDraft = { -readonly [L in keyof SenmlRecord]: SenmlRecord[L] };

type FieldKind = 'text' | 'number' | 'flag' | 'bytes';

/** In the order in which the examples of the RFC write them. */
export const senmlLabels = [
  'bn',
  'bt',
  'bu',
  'bv',
  'bs',
  'bver',
  'n',
  'u',
  't',
  'ut',
  'v',
  'vs',
  'vb',
  'vd',
  's',
] as const satisfies readonly SenmlLabel[];

const fieldKinds: ReadonlyMap<string, FieldKind> = new Map<SenmlLabel, FieldKind>([
  ['bn', 'text'],
  ['bt', 'number'],
  ['bu', 'text'],
  ['bv', 'number'],
  ['bs', 'number'],
  ['bver', 'number'],
  ['n', 'text'],
  ['u', 'text'],
  ['t', 'number'],
  ['ut', 'number'],
  ['v', 'number'],
  ['vs', 'text'],
  ['vb', 'flag'],
  ['vd', 'bytes'],
  ['s', 'number'],
]);

export const isSenmlLabel = (label: string): label is SenmlLabel => fieldKinds.has(label);

const done: Result<void, WireFault> = ok(undefined);

/**
 * Puts one field into a record, if it is of the kind its label asks for.
 *
 * @param draft the record being read; changed only on success
 * @param label any label: an unknown one is passed over, unless it ends in `_` (RFC 8428 §4.4: must be understood)
 * @param field what stood under the label, and the record's index from 0
 */
export function setField(
  draft: RecordDraft,
  label: string,
  field: { readonly value: unknown; readonly index: number },
): Result<void, WireFault> {
  const { value, index } = field;
  const kind = fieldKinds.get(label);
  if (kind === undefined) return passOver(label, index);
  if (draft[label as SenmlLabel] !== undefined) {
    return refuse(
      'label-doubled',
      `${recordName(index)} has the label ${label} twice; send it once.`,
    );
  }
  switch (kind) {
    case 'number':
      if (typeof value !== 'number') return wrongType(label, field, 'a number, without quotes');
      if (!Number.isFinite(value)) {
        return refuse(
          'number-not-finite',
          `${recordName(index)} has a ${label} that is not a finite number; leave the record out when there is no reading.`,
        );
      }
      break;
    case 'text':
      if (typeof value !== 'string') return wrongType(label, field, 'text in quotes');
      if (isBroken(value)) {
        return refuse(
          'text-broken',
          `${recordName(index)} has a NUL or half a surrogate pair in ${label}; send plain Unicode text.`,
        );
      }
      break;
    case 'flag':
      if (typeof value !== 'boolean')
        return wrongType(label, field, 'true or false, without quotes');
      break;
    case 'bytes':
      if (!(value instanceof Uint8Array)) return wrongType(label, field, 'bytes');
      break;
  }
  (draft as Record<string, unknown>)[label] = value;
  return done;
}

function passOver(label: string, index: number): Result<void, WireFault> {
  if (!label.endsWith('_')) return done;
  return refuse(
    'label-must-understand',
    `${recordName(index)} has the label ${quote(label)}, which by its last character must be understood and is not known here; leave it out.`,
  );
}

function wrongType(
  label: string,
  field: { readonly value: unknown; readonly index: number },
  expected: string,
): Result<void, WireFault> {
  const hint = label === 't' || label === 'bt' ? `${expected}: seconds since 1970 UTC` : expected;
  return refuse(
    'label-type-wrong',
    `${recordName(field.index)} has ${describe(field.value)} under ${label}; send ${hint}.`,
  );
}

/** NUL and lone surrogates: Postgres stores neither (22P05, 22021), and one would take its whole batch down. */
function isBroken(text: string): boolean {
  return text.includes('\0') || /\p{Cs}/u.test(text);
}
