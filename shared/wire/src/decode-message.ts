import {
  ok,
  type MessagePlace,
  type MetricKey,
  type NodeName,
  type Packet,
  type Result,
  type SettingsInForce,
} from '@duskline/domain';
import { quote, recordName, refuse, type WireFault } from './faults.ts';
import { readName, stateWords, type NameMeaning, type StateWord } from './metric-name.ts';
import { readValue } from './metric-value.ts';
import { readPayload, type ReadOptions } from './read-payload.ts';
import { resolvePack, type ResolvedRecord } from './resolve-pack.ts';
import {
  isSettingsName,
  readSettings,
  takeSettings,
  type SettingsDraft,
} from './settings-records.ts';
import { parseTopic, type UpKind } from './topics.ts';

/** One value of one metric, not yet dated: `timeS` is relative to receipt below 2^28. */
export interface DecodedReading {
  /** Position of its record in the pack, from 0. */
  readonly record: number;
  readonly metric: MetricKey;
  /** Finite, in the unit of the catalogue. */
  readonly value: number;
  readonly timeS: number;
}

/** What a node says of itself, not yet dated. */
export interface DecodedWord {
  readonly kind: StateWord;
  readonly timeS: number;
  /** Of a farewell: why it stops. */
  readonly reason?: string;
}

/** The uptime when the message was sent: what readings of a wrong clock can be dated by. */
export interface UptimeAnchor {
  readonly uptimeS: number;
  readonly timeS: number;
}

/** A message whose every record is understood, in stored units; only its times are still the node's own. */
export interface DecodedMessage {
  readonly node: NodeName;
  readonly kind: UpKind;
  /** In the order of the pack; `boot` and `seq` are not among them. */
  readonly readings: readonly DecodedReading[];
  readonly place?: MessagePlace;
  readonly anchor?: UptimeAnchor;
  readonly word?: DecodedWord;
  readonly settings?: SettingsInForce;
}

type Understood = Omit<DecodedMessage, 'node' | 'kind' | 'anchor'> & {
  readonly placeTimeS?: number;
};

/**
 * From bytes to readings, or the first thing that is wrong. Pure: what the bytes say depends on nothing else.
 *
 * @param packet as it came by MQTT; `receivedAtMs` is not looked at
 * @param options how to inflate, and the size caps
 * @returns every record understood, or a fault for the whole message: half a message is never stored
 */
export function decodeMessage(
  packet: Packet,
  options: ReadOptions,
): Result<DecodedMessage, WireFault> {
  const topic = parseTopic(packet.topic);
  if (topic === undefined) {
    return refuse(
      'topic-unknown',
      `The topic ${quote(packet.topic)} is none of v1/<node>/up/live, …/backlog and …/state.`,
    );
  }
  const records = readPayload(packet, options);
  if (!records.ok) return records;
  const resolved = resolvePack(records.value);
  if (!resolved.ok) return resolved;
  const understood = understand(resolved.value, topic.node);
  if (!understood.ok) return understood;
  const message = understood.value;
  const misplaced = checkKind(topic.kind, message);
  if (misplaced !== undefined) return misplaced;
  return ok(assemble(topic, message));
}

function assemble(
  { node, kind }: { readonly node: NodeName; readonly kind: UpKind },
  { readings, place, placeTimeS, word, settings }: Understood,
): DecodedMessage {
  // A will was written when the node connected: only that the link dropped is news, and it has no place of its own.
  if (word?.kind === 'dropped') return { node, kind, readings: [], word };
  const anchor = findAnchor(readings, placeTimeS);
  return {
    node,
    kind,
    readings,
    ...(place === undefined ? {} : { place }),
    ...(anchor === undefined ? {} : { anchor }),
    ...(word === undefined ? {} : { word }),
    ...(settings === undefined ? {} : { settings }),
  };
}

interface Draft {
  readonly readings: DecodedReading[];
  readonly settings: SettingsDraft;
  boot?: number;
  seq?: number;
  placeTimeS?: number;
  word?: DecodedWord;
}

function understand(
  records: readonly ResolvedRecord[],
  node: NodeName,
): Result<Understood, WireFault> {
  const draft: Draft = { readings: [], settings: {} };
  const meanings = new Map<string, NameMeaning>();
  for (const record of records) {
    let meaning = meanings.get(record.name);
    if (meaning === undefined) {
      const read = readName(record, node);
      if (!read.ok) return read;
      meaning = read.value;
      meanings.set(record.name, meaning);
    }
    const taken = take(draft, record, meaning);
    if (!taken.ok) return taken;
  }
  const place = readPlace(draft);
  if (!place.ok) return place;
  const settings = readSettings(draft.settings);
  if (!settings.ok) return settings;
  const { readings, placeTimeS, word } = draft;
  return ok({
    readings,
    ...(place.value === undefined ? {} : { place: place.value }),
    ...(placeTimeS === undefined ? {} : { placeTimeS }),
    ...(word === undefined ? {} : { word }),
    ...(settings.value === undefined ? {} : { settings: settings.value }),
  });
}

const done = ok(undefined);

function take(
  draft: Draft,
  record: ResolvedRecord,
  meaning: NameMeaning,
): Result<undefined, WireFault> {
  if (isWord(meaning)) return takeWord(draft, record, meaning);
  if (isSettingsName(meaning)) return takeSettings(draft.settings, record, meaning);
  const value = readValue(record, meaning);
  if (!value.ok) return value;
  if (meaning === 'boot' || meaning === 'seq') {
    return takePlace(draft, record, { key: meaning, value: value.value });
  }
  draft.readings.push({
    record: record.index,
    metric: meaning,
    value: value.value,
    timeS: record.timeS,
  });
  return done;
}

const isWord = (meaning: NameMeaning): meaning is StateWord =>
  (stateWords as readonly string[]).includes(meaning);

const LARGEST_PLACE = 2_147_483_647;

function takePlace(
  draft: Draft,
  record: ResolvedRecord,
  { key, value }: { readonly key: 'boot' | 'seq'; readonly value: number },
): Result<undefined, WireFault> {
  const where = recordName(record.index, key);
  const least = key === 'seq' ? 1 : 0;
  if (!Number.isInteger(value) || value < least || value > LARGEST_PLACE) {
    return refuse(
      'place-invalid',
      `${where} is ${value}; send a whole number from ${least} to ${LARGEST_PLACE}.`,
    );
  }
  if (draft[key] !== undefined && draft[key] !== value) {
    return refuse(
      'place-doubled',
      `${where} is ${value}, but an earlier record says ${draft[key]}; a message has one ${key}.`,
    );
  }
  draft[key] = value;
  if (key === 'seq') draft.placeTimeS = record.timeS;
  return done;
}

function readPlace({ boot, seq }: Draft): Result<MessagePlace | undefined, WireFault> {
  if (boot !== undefined && seq !== undefined) return ok({ boot, seq });
  if (boot === undefined && seq === undefined) return ok(undefined);
  const [given, absent] = boot === undefined ? ['seq', 'boot'] : ['boot', 'seq'];
  return refuse(
    'place-incomplete',
    `The message has ${given} but no ${absent}; send both, so that it can be acknowledged, or neither.`,
  );
}

const LONGEST_REASON = 200;

function takeWord(
  draft: Draft,
  record: ResolvedRecord,
  kind: StateWord,
): Result<undefined, WireFault> {
  const where = recordName(record.index, kind);
  if (draft.word !== undefined) {
    return refuse(
      'word-doubled',
      `${where} follows ${draft.word.kind}; a message says one of them.`,
    );
  }
  const { value, timeS } = record;
  if (kind !== 'farewell') {
    if (value !== true) {
      return refuse('value-kind-wrong', `${where} has to be true; send "vb":true.`);
    }
    draft.word = { kind, timeS };
    return done;
  }
  if (typeof value !== 'string' || value.trim() === '' || value.length > LONGEST_REASON) {
    return refuse(
      'value-kind-wrong',
      `${where} has to say why the node stops; send up to ${LONGEST_REASON} characters under vs.`,
    );
  }
  draft.word = { kind, timeS, reason: value.trim().replace(/\p{Cc}/gu, ' ') };
  return done;
}

function checkKind(
  kind: UpKind,
  { readings, word, settings }: Understood,
): Result<never, WireFault> | undefined {
  if (kind === 'state') {
    if (word !== undefined || settings !== undefined) return undefined;
    return refuse(
      'word-missing',
      'A state message says hello, farewell, dropped or settings; send readings by up/live instead.',
    );
  }
  const misplaced = word?.kind ?? (settings === undefined ? undefined : 'word on settings');
  if (misplaced !== undefined) {
    return refuse(
      'word-misplaced',
      `A ${misplaced} belongs on the topic up/state, not up/${kind}.`,
    );
  }
  if (readings.length > 0) return undefined;
  return refuse(
    'readings-missing',
    'The message holds no reading; send at least one record with a metric.',
  );
}

/**
 * The uptime the node had when it sent the message: the one that stands at the same time as `seq`, and without a `seq` the
 * largest. What it can be used for is decided where readings are dated.
 */
function findAnchor(
  readings: readonly DecodedReading[],
  placeTimeS: number | undefined,
): UptimeAnchor | undefined {
  let anchor: UptimeAnchor | undefined;
  for (const { metric, value, timeS } of readings) {
    if (metric !== 'uptime') continue;
    if (timeS === placeTimeS) return { uptimeS: value, timeS };
    if (anchor === undefined || value > anchor.uptimeS) anchor = { uptimeS: value, timeS };
  }
  return anchor;
}
