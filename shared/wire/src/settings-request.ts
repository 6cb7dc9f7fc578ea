import { ok, SECOND_MS, type Result, type SettingsRequest } from '@duskline/domain';
import { WireEncodeError } from './errors.ts';
import { refuse, type WireFault } from './faults.ts';
import { isSettingsId, LONGEST_INTERVAL_S } from './settings-limits.ts';

const utf8 = new TextDecoder('utf-8', { fatal: true });
const encoder = new TextEncoder();
const LONGEST_REQUEST_BYTES = 1024;

/**
 * What the server asks of a node on `down/settings`, retained: `{"id":"a1","log_every":300,"publish_every":3600,
 * "thrift_until":1767225600}`. Seconds, and Unix seconds; all but the id may be left out.
 *
 * @throws WireEncodeError when it is no request
 */
export function encodeSettingsRequest(request: SettingsRequest): Uint8Array {
  const { id, logEveryS, publishEveryS, thriftUntilMs } = request;
  const json = {
    id,
    ...(logEveryS === undefined ? {} : { log_every: logEveryS }),
    ...(publishEveryS === undefined ? {} : { publish_every: publishEveryS }),
    ...(thriftUntilMs === undefined ? {} : { thrift_until: thriftUntilMs / SECOND_MS }),
  };
  const bytes = encoder.encode(JSON.stringify(json));
  const read = decodeSettingsRequest(bytes);
  if (!read.ok) throw new WireEncodeError(read.fault.reason);
  return bytes;
}

/** The reverse, for the node. Members it does not know are passed over. */
export function decodeSettingsRequest(bytes: Uint8Array): Result<SettingsRequest, WireFault> {
  const said = bytes.length > LONGEST_REQUEST_BYTES ? undefined : parse(bytes);
  if (typeof said !== 'object' || said === null || !('id' in said) || !isSettingsId(said.id))
    return malformed('it is no JSON object with an id of 1 to 64 letters, digits, - and _');
  const fields = said as Readonly<Record<string, unknown>>;
  const logEveryS = fields['log_every'];
  const publishEveryS = fields['publish_every'];
  const thriftUntilS = fields['thrift_until'];
  if (!isIntervalOrAbsent(logEveryS) || !isIntervalOrAbsent(publishEveryS))
    return malformed(
      `log_every and publish_every are whole seconds from 1 to ${LONGEST_INTERVAL_S}`,
    );
  if (thriftUntilS !== undefined && !isUnixTime(thriftUntilS))
    return malformed('thrift_until is a Unix time in seconds');
  return ok({
    id: said.id,
    ...(logEveryS === undefined ? {} : { logEveryS }),
    ...(publishEveryS === undefined ? {} : { publishEveryS }),
    ...(thriftUntilS === undefined ? {} : { thriftUntilMs: thriftUntilS * SECOND_MS }),
  });
}

const malformed = (why: string) =>
  refuse('settings-malformed', `The request of settings cannot be used: ${why}.`);

const isIntervalOrAbsent = (value: unknown): value is number | undefined =>
  value === undefined ||
  (typeof value === 'number' &&
    Number.isInteger(value) &&
    value >= 1 &&
    value <= LONGEST_INTERVAL_S);

/** 2020 to 2100: outside lies a mistake of unit. */
const isUnixTime = (value: unknown): value is number =>
  typeof value === 'number' && value >= 1_577_836_800 && value <= 4_102_444_800;

function parse(bytes: Uint8Array): unknown {
  try {
    return JSON.parse(utf8.decode(bytes)) as unknown;
  } catch {
    return undefined;
  }
}
