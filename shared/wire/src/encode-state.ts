import {
  SECOND_MS,
  type MessagePlace,
  type NodeName,
  type SettingsInForce,
} from '@duskline/domain';
import { encodeRecords, headOf, reading, type MessageFormat } from './encode-message.ts';
import type { SenmlRecord } from './senml-record.ts';
import { settingsRecords } from './settings-records.ts';

/** What hello and farewell have in common. */
export interface StateFrame {
  readonly node: NodeName;
  readonly place?: MessagePlace;
  readonly uptimeS?: number;
  /** Charge (0–1) now. */
  readonly chargeRatio?: number;
  /** By a clock that is right; left out, the message says "now". Retained messages are better dated. */
  readonly observedAtMs?: number;
}

export interface Hello extends StateFrame {
  /** One of the words of the metric `boot_cause`, as its code. */
  readonly bootCauseCode?: number;
}

export interface Farewell extends StateFrame {
  /** Why the node stops, in a few words. */
  readonly reason: string;
}

/** First light: the node is up. Published retained on `up/state`. */
export function encodeHello(hello: Hello, format: MessageFormat = 'json'): Uint8Array {
  const { bootCauseCode } = hello;
  const cause = bootCauseCode === undefined ? [] : [reading('boot_cause', bootCauseCode)];
  return encodeState(hello, { word: { n: 'hello', vb: true }, more: cause, format });
}

/** The last message before a planned stop. Published retained on `up/state`. */
export function encodeFarewell(farewell: Farewell, format: MessageFormat = 'json'): Uint8Array {
  return encodeState(farewell, { word: { n: 'farewell', vs: farewell.reason }, more: [], format });
}

/**
 * The node's answer to a request: what it does now. Published on `up/state`, not retained, so that it does not take the place
 * of hello or farewell; said again at every connection.
 */
export function encodeSettingsInForce(
  node: NodeName,
  settings: SettingsInForce,
  format: MessageFormat = 'json',
): Uint8Array {
  return encodeRecords(node, settingsRecords(settings), format);
}

/** The will a node leaves with its broker as it connects: the link dropped without a farewell. */
export function encodeDropped(node: NodeName, format: MessageFormat = 'json'): Uint8Array {
  return encodeRecords(node, [{ n: 'dropped', vb: true }], format);
}

function encodeState(
  frame: StateFrame,
  {
    word,
    more,
    format,
  }: {
    readonly word: SenmlRecord;
    readonly more: readonly SenmlRecord[];
    readonly format: MessageFormat;
  },
): Uint8Array {
  const { observedAtMs, chargeRatio } = frame;
  const at = observedAtMs === undefined ? {} : { bt: observedAtMs / SECOND_MS };
  const charge =
    chargeRatio === undefined ? [] : [reading('charge', Math.round(chargeRatio * 1e4) / 100)];
  return encodeRecords(
    frame.node,
    [...headOf(frame), { ...at, ...word }, ...charge, ...more],
    format,
  );
}
