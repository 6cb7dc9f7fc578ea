import { metric, ok, type MetricEntry, type MetricKey, type Result } from '@duskline/domain';
import { describe, quote, recordName, refuse, type WireFault } from './faults.ts';
import type { ResolvedRecord } from './resolve-pack.ts';
import { convertUnit, isUnit, unitsLike } from './units.ts';

/** Beyond this no sensor reads, and sums of years of such values still fit a double: an overflow (22003) would stop rollups. */
const LARGEST_VALUE = 1e18;

/** Units that a plain number needs none of, or that say "a number": RFC 8428 uses `/` and `%` for switches. */
const switchUnits = new Set(['/', '%', 'count']);

/**
 * The value of a record as the catalogue stores its metric: in the stored unit, or as the number of a code.
 *
 * @param record with its unit and value
 * @param key the metric it was found to measure
 * @returns finite, within ±10^18
 */
export function readValue(record: ResolvedRecord, key: MetricKey): Result<number, WireFault> {
  const entry: MetricEntry = metric(key);
  const where = recordName(record.index, key);
  if (record.value === undefined) {
    return refuse('value-missing', `${where} has only a sum; send the value itself under v.`);
  }
  return entry.codes === undefined
    ? readQuantity(record, { entry, where })
    : readCode(record, { codes: entry.codes, where });
}

function readQuantity(
  { value, unit }: ResolvedRecord,
  { entry, where }: { readonly entry: MetricEntry; readonly where: string },
): Result<number, WireFault> {
  const stored = entry.senml ?? 'count';
  if (typeof value !== 'number') {
    return refuse(
      'value-kind-wrong',
      `${where} has ${describe(value)}; ${entry.label.toLowerCase()} is a number in ${stored}: send it under v.`,
    );
  }
  if (unit === stored) return withinBounds(value, where);
  if (unit === undefined) {
    if (stored === 'count') return withinBounds(value, where);
    return refuse('unit-missing', `${where} has no unit; add "u":"${stored}".`);
  }
  return readInUnit(value, unit, { stored, where });
}

function readInUnit(
  value: number,
  unit: string,
  { stored, where }: { readonly stored: string; readonly where: string },
): Result<number, WireFault> {
  const converted = convertUnit(value, unit, stored);
  if (converted === undefined) return wrongUnit(unit, { stored, where });
  if (unit === '%' && Math.abs(value) > 1) {
    return refuse(
      'unit-ambiguous',
      `${where} has ${value} %, and % in SenML is a ratio from 0 to 1; send percent with "u":"/100" or the ratio with "u":"/".`,
    );
  }
  return withinBounds(converted, where);
}

/** What people write, and what SenML reads instead. */
const mistaken: Readonly<Record<string, string>> = {
  C: 'coulomb',
  F: 'farad',
  '%': 'a ratio from 0 to 1',
  EL: 'seconds of battery left',
};

function wrongUnit(
  unit: string,
  { stored, where }: { readonly stored: string; readonly where: string },
): Result<never, WireFault> {
  const others = unitsLike(stored);
  const mend = `send the value in ${stored}${others.length === 0 ? '' : ` (or ${others.join(', ')})`}, with "u":"${stored}"`;
  if (!isUnit(unit)) {
    return refuse(
      'unit-unknown',
      `${where} came in ${quote(unit)}, which is no SenML unit, where ${stored} is expected; ${mend}.`,
    );
  }
  const reading = Object.hasOwn(mistaken, unit) ? `, which SenML reads as ${mistaken[unit]}` : '';
  return refuse(
    'unit-wrong',
    `${where} came in ${unit}${reading}, where ${stored} is expected; ${mend}.`,
  );
}

function withinBounds(value: number, where: string): Result<number, WireFault> {
  if (Math.abs(value) <= LARGEST_VALUE) return ok(value);
  return refuse(
    'value-out-of-bounds',
    `${where} is ${value}, larger than any reading can be; leave the record out when there is no reading.`,
  );
}

function readCode(
  { value, unit }: ResolvedRecord,
  { codes, where }: { readonly codes: readonly string[]; readonly where: string },
): Result<number, WireFault> {
  const isFlag = codes.length === 2 && codes[0] === 'no';
  // A base unit meant for other records says nothing about a word or a flag.
  if (typeof value === 'boolean' && isFlag) return ok(Number(value));
  if (typeof value === 'string') {
    const code = codes.indexOf(value.trim().toLowerCase());
    if (code >= 0) return ok(code);
    return refuse(
      'code-unknown',
      `${where} is ${quote(value)}; the words are ${codes.join(', ')}.`,
    );
  }
  if (typeof value !== 'number') {
    return refuse(
      'value-kind-wrong',
      `${where} has ${describe(value)}; send one of the words ${codes.join(', ')} under vs.`,
    );
  }
  if (unit !== undefined && !switchUnits.has(unit)) {
    return refuse(
      'unit-wrong',
      `${where} has the unit ${quote(unit)}, but it is a code; send no unit.`,
    );
  }
  if (Number.isInteger(value) && value >= 0 && value < codes.length) return ok(value);
  return refuse(
    'code-unknown',
    `${where} is ${value}; the codes are ${codes.map((word, code) => `${code} ${word}`).join(', ')}.`,
  );
}
