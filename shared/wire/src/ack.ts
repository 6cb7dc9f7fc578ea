import { ok, type MessagePlace, type Result } from '@duskline/domain';
import { WireEncodeError } from './errors.ts';
import { refuse, type WireFault } from './faults.ts';

const utf8 = new TextDecoder('utf-8', { fatal: true });
const encoder = new TextEncoder();
/** An acknowledgement is two short numbers. */
const LONGEST_ACK_BYTES = 256;

/**
 * What the server says on `down/ack`: every message of that boot up to and with `seq` is committed.
 *
 * @throws WireEncodeError when the place is not one
 */
export function encodeAck({ boot, seq }: MessagePlace): Uint8Array {
  if (!isPlaceNumber(boot, 0) || !isPlaceNumber(seq, 1)) {
    throw new WireEncodeError(`an acknowledgement of boot ${boot}, seq ${seq}`);
  }
  return encoder.encode(JSON.stringify({ boot, seq }));
}

/** The reverse, for the node. Members it does not know are passed over. */
export function decodeAck(bytes: Uint8Array): Result<MessagePlace, WireFault> {
  const said = bytes.length > LONGEST_ACK_BYTES ? undefined : parse(bytes);
  if (typeof said === 'object' && said !== null && 'boot' in said && 'seq' in said) {
    const { boot, seq } = said;
    if (isPlaceNumber(boot, 0) && isPlaceNumber(seq, 1)) return ok({ boot, seq });
  }
  return refuse('ack-malformed', 'The acknowledgement is not {"boot":…,"seq":…} in whole numbers.');
}

const isPlaceNumber = (value: unknown, least: number): value is number =>
  typeof value === 'number' && Number.isSafeInteger(value) && value >= least;

function parse(bytes: Uint8Array): unknown {
  try {
    return JSON.parse(utf8.decode(bytes)) as unknown;
  } catch {
    return undefined;
  }
}
