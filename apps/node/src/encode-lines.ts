import { failed, ok, type MessagePlace, type NodeName, type Result } from '@duskline/domain';
import {
  decodeMessage,
  encodeSenmlJson,
  resolveMessage,
  topicFor,
  type SenmlRecord,
} from '@duskline/wire';
import type { LoggedLine } from './parse-line.ts';

/** SenML: number and boot at time 0, which is "now"; then each line under a base time of its own; units as the log has them. */
export function encodeLines(
  node: NodeName,
  lines: readonly LoggedLine[],
  { boot, seq }: MessagePlace,
): Uint8Array {
  const records: SenmlRecord[] = [
    { bn: `${node}_`, n: 'boot', u: 'count', v: boot },
    { n: 'seq', u: 'count', v: seq },
  ];
  for (const { observedAtMs, values } of lines)
    values.forEach(({ metric, unit, value }, i) =>
      records.push({
        ...(i === 0 ? { bt: observedAtMs / 1000 } : {}),
        n: metric,
        ...(unit === undefined ? {} : { u: unit }),
        ...(typeof value === 'number' ? { v: value } : { vs: value }),
      }),
    );
  return encodeSenmlJson(records);
}

/** What the server will make of them. */
export interface Judged {
  /** The newest charge in them, 0–1. */
  readonly chargeRatio: number | undefined;
}

/**
 * Reads the message as the server will. A message it refuses goes to quarantine whole and is never acknowledged, so what is
 * wrong with a line had better be found here.
 */
export function judgeLines(
  node: NodeName,
  lines: readonly LoggedLine[],
  nowMs: number,
): Result<Judged, string> {
  const payload = encodeLines(node, lines, { boot: 1, seq: 1 });
  const packet = { topic: topicFor(node, 'live'), payload, receivedAtMs: nowMs };
  const decoded = decodeMessage(packet, { inflate: () => failed('corrupt') });
  if (!decoded.ok) return failed(decoded.fault.reason);
  const resolved = resolveMessage(decoded.value, nowMs);
  if (!resolved.ok) return failed(resolved.fault.reason);
  const charges = resolved.value.samples.flatMap(({ metrics, values }) => {
    const value = values[metrics.indexOf('charge')];
    return value === undefined ? [] : [value / 100];
  });
  return ok({ chargeRatio: charges.at(-1) });
}
