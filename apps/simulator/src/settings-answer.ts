import { SECOND_MS, type SettingsInForce, type SettingsRequest } from '@duskline/domain';
import { decodeSettingsRequest } from '@duskline/wire';

/** The part of a node's load that goes with its pace of logging; the rest is there in any case. Our choice, for the demo. */
const SHARE_OF_LOGGING = 0.35;

export interface SettingsAnswer {
  /** Takes a request as it came. @returns why it was not understood */
  readonly receive: (bytes: Uint8Array) => string | undefined;
  /** What the node does at that moment; undefined while nobody ever asked. */
  readonly inForce: (atMs: number) => SettingsInForce | undefined;
  /** Asked pace of logging, ms; undefined: its own. */
  readonly logEveryMs: (atMs: number) => number | undefined;
  readonly publishEveryMs: (atMs: number) => number | undefined;
  /** What its load is multiplied by. */
  readonly loadTimes: (atMs: number) => number;
}

/**
 * What a pretend node does with a request of settings: follows it until the thrift ends, and draws less power meanwhile.
 *
 * @param ownGapS  how often it logs by itself, s
 * @param kept     the request it followed when it ran last
 */
export function createSettingsAnswer(options: {
  readonly ownGapS: number;
  readonly kept?: SettingsRequest | undefined;
  readonly onKeep: (request: SettingsRequest) => void;
}): SettingsAnswer {
  const { ownGapS, onKeep } = options;
  let request = options.kept;
  const followed = (atMs: number): SettingsRequest | undefined =>
    request?.thriftUntilMs !== undefined && atMs >= request.thriftUntilMs ? undefined : request;
  const logEveryMs = (atMs: number): number | undefined => {
    const askedS = followed(atMs)?.logEveryS;
    return askedS === undefined ? undefined : askedS * SECOND_MS;
  };
  return {
    receive(bytes) {
      // A retained request that was taken back arrives as an empty message.
      if (bytes.length === 0) return undefined;
      const read = decodeSettingsRequest(bytes);
      if (!read.ok) return read.fault.reason;
      request = read.value;
      onKeep(request);
      return undefined;
    },
    inForce(atMs) {
      if (request === undefined) return undefined;
      const now = followed(atMs);
      const logEveryS = now?.logEveryS ?? ownGapS;
      return {
        id: request.id,
        logEveryS,
        publishEveryS: Math.max(logEveryS, now?.publishEveryS ?? ownGapS),
        ...(now?.thriftUntilMs === undefined ? {} : { thriftUntilMs: now.thriftUntilMs }),
      };
    },
    logEveryMs,
    publishEveryMs(atMs) {
      const askedS = followed(atMs)?.publishEveryS;
      return askedS === undefined ? undefined : askedS * SECOND_MS;
    },
    loadTimes(atMs) {
      const everyMs = logEveryMs(atMs) ?? ownGapS * SECOND_MS;
      return 1 - SHARE_OF_LOGGING + SHARE_OF_LOGGING * ((ownGapS * SECOND_MS) / everyMs);
    },
  };
}
