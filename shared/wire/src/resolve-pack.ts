import { ok, type Result } from '@duskline/domain';
import { quote, recordName, refuse, type WireFault } from './faults.ts';
import type { SenmlRecord } from './senml-record.ts';

/** A record with its base fields applied (RFC 8428 §4.6), but for the time, which may still be relative to now. */
export interface ResolvedRecord {
  /** Position in the pack, from 0. */
  readonly index: number;
  readonly name: string;
  readonly unit: string | undefined;
  /** Undefined only when there is a sum. */
  readonly value: number | string | boolean | Uint8Array | undefined;
  /** Integral over time, in unit · seconds. */
  readonly sum: number | undefined;
  /** Seconds: since 1970 UTC from 2^28 on, below that relative to now. */
  readonly timeS: number;
  /** Seconds within which a next reading is promised. */
  readonly updateTimeS: number | undefined;
}

/** RFC 8428 §4.5.3: times below this many seconds are relative to now. */
export const ABSOLUTE_FROM_S = 2 ** 28;

export const isRelativeTime = (timeS: number): boolean => timeS < ABSOLUTE_FROM_S;

/** RFC 8428 §4.4: the version it defines, and what a pack without one has. */
const VERSION = 10;
/** RFC 9100: bits from 16 up are features; this one says that secondary units may be used, and we know those. */
const SECONDARY_UNITS_BIT = 16;

const NAME = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;
const LONGEST_NAME = 255;

interface BaseFields {
  name: string;
  timeS: number;
  unit: string | undefined;
  value: number | undefined;
  sum: number | undefined;
  /** Full names already checked under this base name, by `n`. */
  readonly names: Map<string, string>;
}

/**
 * Applies base names, times, units, values and sums, record by record in the order written, and checks what RFC 8428 asks of
 * the outcome: names, one value each, versions, and times that are plainly absolute or plainly relative.
 *
 * @param records one pack, as decoded from JSON or CBOR
 * @returns in the order of the pack; records that hold nothing but base fields leave none
 */
export function resolvePack(
  records: readonly SenmlRecord[],
): Result<readonly ResolvedRecord[], WireFault> {
  const versions = checkVersions(records);
  if (!versions.ok) return versions;
  const base: BaseFields = {
    name: '',
    timeS: 0,
    unit: undefined,
    value: undefined,
    sum: undefined,
    names: new Map(),
  };
  const resolved: ResolvedRecord[] = [];
  for (const [index, record] of records.entries()) {
    applyBase(base, record);
    if (holdsOnlyBase(record)) continue;
    const one = resolveRecord(base, record, index);
    if (!one.ok) return one;
    resolved.push(one.value);
  }
  return ok(resolved);
}

function checkVersions(records: readonly SenmlRecord[]): Result<void, WireFault> {
  let version: number | undefined;
  for (const [index, { bver }] of records.entries()) {
    if (bver === undefined) continue;
    if (!isKnownVersion(bver)) {
      return refuse(
        'version-unknown',
        `${recordName(index)} has SenML version ${bver}; versions up to ${VERSION}, and ${VERSION + SECONDARY_UNITS_BIT}, are understood: leave bver out.`,
      );
    }
    // A pack is of one version: what stands before the first bver has the default.
    version ??= index === 0 ? bver : VERSION;
    if (bver !== version) {
      return refuse(
        'version-mixed',
        `${recordName(index)} has SenML version ${bver} in a pack of version ${version}; put bver into the first record only.`,
      );
    }
  }
  return ok(undefined);
}

const isKnownVersion = (bver: number): boolean =>
  Number.isInteger(bver) &&
  bver > 0 &&
  (bver <= VERSION || bver === (VERSION | SECONDARY_UNITS_BIT));

function applyBase(base: BaseFields, record: SenmlRecord): void {
  if (record.bn !== undefined && record.bn !== base.name) {
    base.name = record.bn;
    base.names.clear();
  }
  if (record.bt !== undefined) base.timeS = record.bt;
  if (record.bu !== undefined) base.unit = record.bu;
  if (record.bv !== undefined) base.value = record.bv;
  if (record.bs !== undefined) base.sum = record.bs;
}

const regularLabels = ['n', 'u', 't', 'ut', 'v', 'vs', 'vb', 'vd', 's'] as const;
const baseLabels = ['bn', 'bt', 'bu', 'bv', 'bs', 'bver'] as const;

/** As the first record of the example in RFC 8428 §5.1.7: it changes what follows and is no reading itself. */
const holdsOnlyBase = (record: SenmlRecord): boolean =>
  regularLabels.every((label) => record[label] === undefined) &&
  baseLabels.some((label) => record[label] !== undefined);

function resolveRecord(
  base: BaseFields,
  record: SenmlRecord,
  index: number,
): Result<ResolvedRecord, WireFault> {
  const name = nameOf(base, record.n ?? '', index);
  if (!name.ok) return name;
  const timeS = timeOf(base.timeS, record.t ?? 0);
  if (timeS === undefined)
    return mixedTimes(base.timeS, record.t ?? 0, recordName(index, name.value));
  const value = valueOf(base, record);
  const sum =
    record.s === undefined && base.sum === undefined
      ? undefined
      : (base.sum ?? 0) + (record.s ?? 0);
  const refused = checkValues(record, { value, sum, where: recordName(index, name.value) });
  if (refused !== undefined) return refused;
  return ok({
    index,
    name: name.value,
    unit: record.u ?? base.unit,
    value,
    sum,
    timeS,
    updateTimeS: record.ut,
  });
}

/** Base name and name together: not empty, of the characters of RFC 8428 §4.5.1, starting with a letter or digit. */
function nameOf(base: BaseFields, n: string, index: number): Result<string, WireFault> {
  const known = base.names.get(n);
  if (known !== undefined) return ok(known);
  const name = base.name + n;
  if (name === '') {
    return refuse('name-missing', `${recordName(index)} has no name; add "n" with the metric.`);
  }
  if (name.length > LONGEST_NAME || !NAME.test(name)) {
    return refuse(
      'name-invalid',
      `${recordName(index)} is named ${quote(name)}; a name has up to ${LONGEST_NAME} letters, digits and - : . / _ and starts with a letter or digit.`,
    );
  }
  base.names.set(n, name);
  return ok(name);
}

/**
 * Base time plus time. The sum may not turn a relative time into an absolute one or the reverse by accident, and two absolute
 * times do not add up to anything.
 */
function timeOf(baseS: number, timeS: number): number | undefined {
  if (baseS === 0) return timeS;
  const sum = baseS + timeS;
  const baseRelative = isRelativeTime(baseS);
  if (!isRelativeTime(timeS)) return undefined;
  return isRelativeTime(sum) === baseRelative ? sum : undefined;
}

function mixedTimes(baseS: number, timeS: number, where: string): Result<never, WireFault> {
  const problem = isRelativeTime(timeS)
    ? `adds t ${timeS} to bt ${baseS}, which crosses 2^28, the border between times relative to now and times since 1970`
    : `adds t ${timeS}, a time since 1970, to bt ${baseS}`;
  return refuse(
    'time-mixed',
    `${where} ${problem}; send bt as seconds since 1970 with t as an offset, or both relative to now.`,
  );
}

function valueOf(
  base: BaseFields,
  record: SenmlRecord,
): number | string | boolean | Uint8Array | undefined {
  if (record.v !== undefined) return (base.value ?? 0) + record.v;
  return record.vs ?? record.vb ?? record.vd ?? base.value;
}

function checkValues(
  record: SenmlRecord,
  outcome: { readonly value: unknown; readonly sum: number | undefined; readonly where: string },
): Result<never, WireFault> | undefined {
  const given =
    Number(record.v !== undefined) +
    Number(record.vs !== undefined) +
    Number(record.vb !== undefined) +
    Number(record.vd !== undefined);
  if (given > 1) {
    return refuse(
      'value-doubled',
      `${outcome.where} has ${given} values; send one of v, vs, vb, vd.`,
    );
  }
  if (outcome.value === undefined && outcome.sum === undefined) {
    return refuse('value-missing', `${outcome.where} has no value; add v, vs or vb.`);
  }
  const overflow = (n: unknown): boolean => typeof n === 'number' && !Number.isFinite(n);
  if (overflow(outcome.value) || overflow(outcome.sum)) {
    return refuse('number-not-finite', `${outcome.where} adds up to more than a number can hold.`);
  }
  return undefined;
}
