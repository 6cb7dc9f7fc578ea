import {
  metricKeys,
  metricOf,
  ok,
  type MetricKey,
  type NodeName,
  type Result,
} from '@duskline/domain';
import { quote, recordName, refuse, type WireFault } from './faults.ts';
import { nearestWord } from './nearest-word.ts';
import type { ResolvedRecord } from './resolve-pack.ts';
import { isSettingsName, settingsNames, type SettingsName } from './settings-records.ts';

/** What a node says of itself beside its readings. */
export const stateWords = ['hello', 'farewell', 'dropped'] as const;
export type StateWord = (typeof stateWords)[number];

/** What the name of a record stands for. */
export type NameMeaning = MetricKey | StateWord | SettingsName;

const meaningOf = (text: string): NameMeaning | undefined =>
  isSettingsName(text) ? text : (stateWords.find((word) => word === text) ?? metricOf(text));

/**
 * What a record measures: its name without the base name. Base names are `urn:dev:…` (RFC 9039), the node's own name followed by
 * `_`, `:` or `/`, or none.
 *
 * @param record its name in full
 * @param node whose topic it came by: this, not the base name, says whose reading it is
 */
export function readName(record: ResolvedRecord, node: NodeName): Result<NameMeaning, WireFault> {
  const { name } = record;
  const plain = meaningOf(name) ?? (name.startsWith('urn:dev:') ? behindUrn(name) : undefined);
  if (plain !== undefined) return ok(plain);
  const [prefix, rest] = split(name);
  const meaning = meaningOf(rest);
  if (meaning !== undefined && prefix === node) return ok(meaning);
  return meaning === undefined
    ? unknown(record, prefix === node ? rest : name)
    : refuse(
        'name-of-another-node',
        `${recordName(record.index)} is named ${quote(name)} but came by the topic of ${node}; use ${quote(`${node}_${rest}`)} or ${quote(rest)}.`,
      );
}

/** The parts of a device URN end at the first `_`; RFC 8428's own examples end theirs with `:` or `/`. */
function behindUrn(name: string): NameMeaning | undefined {
  const afterPart = name.slice(name.indexOf('_') + 1);
  const afterColon = name.slice(Math.max(name.lastIndexOf(':'), name.lastIndexOf('/')) + 1);
  return meaningOf(afterColon) ?? meaningOf(afterPart);
}

/** A node's name has no `_`, `:` or `/`, so the first of them ends it. */
function split(name: string): readonly [string, string] {
  const at = name.search(/[_:/]/);
  return at < 0 ? ['', name] : [name.slice(0, at), name.slice(at + 1)];
}

function unknown(record: ResolvedRecord, text: string): Result<never, WireFault> {
  const candidates = [...metricKeys, ...stateWords, ...settingsNames];
  const nearest = nearestWord(text, candidates) ?? nearestWord(split(text)[1], candidates);
  const mend =
    nearest === undefined ? 'see the metric catalogue for the names' : `did you mean ${nearest}?`;
  return refuse(
    'metric-unknown',
    `${recordName(record.index)} is named ${quote(record.name)}, which is no metric known here; ${mend}${nearest === undefined ? '.' : ''}`,
  );
}
