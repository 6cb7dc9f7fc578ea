import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { SECOND_MS, type NodeSettings, type SettingsInForce } from '@duskline/domain';
import { decodeSettingsRequest, encodeSettingsRequest } from '@duskline/wire';
import { writeDurably } from './durable-file.ts';

/** What the node does by itself, and what of it can be asked for. */
export interface OwnSettings extends NodeSettings {
  /** The script that writes the log reads `settings.json` and keeps to its `log_every`. */
  readonly scriptReadsSettings: boolean;
}

export interface SettingsDesk {
  readonly publishEveryS: () => number;
  /** Undefined while nobody ever asked. */
  readonly inForce: () => SettingsInForce | undefined;
  /** Takes a request as it came; nothing happens when it is the one already followed. */
  readonly receive: (bytes: Uint8Array) => void;
  /** To be called now and then: thrift ends by itself. */
  readonly look: () => void;
}

const FILE = 'settings.json';
const REQUEST_FILE = 'settings-request.json';
/** Before this the clock was never set, and says nothing about the end of thrift. */
const PLAUSIBLE_FROM_MS = Date.UTC(2025, 0, 1);
const NOT_READ =
  'log_every: the script that writes the log does not read settings.json, so its pace stays';

/**
 * Follows the newest request of settings, keeps it through power cuts, and writes `settings.json` for the script that writes
 * the log: `{"log_every":300,"publish_every":3600}`, in seconds.
 */
export function openSettingsDesk(options: {
  readonly own: OwnSettings;
  readonly stateDir: string;
  /** What is in force has changed, or was asked for again. */
  readonly onChange: () => void;
  readonly onFault: (reason: string) => void;
  readonly now?: () => number;
}): SettingsDesk {
  const { own, stateDir, onChange, onFault, now = Date.now } = options;
  let request = readRequest(stateDir);
  let inForce = request === undefined ? undefined : settle();
  write();

  function settle(): SettingsInForce | undefined {
    if (request === undefined) return undefined;
    const { id, logEveryS, publishEveryS, thriftUntilMs } = request;
    const over =
      thriftUntilMs !== undefined && now() >= PLAUSIBLE_FROM_MS && now() >= thriftUntilMs;
    if (over) return { id, logEveryS: own.logEveryS, publishEveryS: own.publishEveryS };
    const refused = logEveryS !== undefined && !own.scriptReadsSettings;
    return {
      id,
      logEveryS: refused ? own.logEveryS : (logEveryS ?? own.logEveryS),
      publishEveryS: publishEveryS ?? own.publishEveryS,
      ...(thriftUntilMs === undefined ? {} : { thriftUntilMs }),
      ...(refused ? { refusal: NOT_READ } : {}),
    };
  }
  function write(): void {
    const { logEveryS, publishEveryS, thriftUntilMs } = inForce ?? {
      ...own,
      thriftUntilMs: undefined,
    };
    const json = {
      log_every: logEveryS,
      publish_every: publishEveryS,
      ...(thriftUntilMs === undefined ? {} : { thrift_until: thriftUntilMs / SECOND_MS }),
    };
    try {
      writeDurably(stateDir, FILE, Buffer.from(`${JSON.stringify(json)}\n`));
    } catch (cause) {
      onFault(`${FILE} cannot be written: ${(cause as Error).message}`);
    }
  }
  function change(): void {
    const next = settle();
    if (JSON.stringify(next) === JSON.stringify(inForce)) return;
    inForce = next;
    write();
    onChange();
  }

  return {
    publishEveryS: () => inForce?.publishEveryS ?? own.publishEveryS,
    inForce: () => inForce,
    receive(bytes) {
      // A retained request that was taken back arrives as an empty message.
      if (bytes.length === 0) return;
      const read = decodeSettingsRequest(bytes);
      if (!read.ok) return onFault(read.fault.reason);
      try {
        writeDurably(stateDir, REQUEST_FILE, encodeSettingsRequest(read.value));
      } catch (cause) {
        return onFault(`a request of settings could not be kept: ${(cause as Error).message}`);
      }
      request = read.value;
      change();
    },
    look: change,
  };
}

function readRequest(stateDir: string) {
  try {
    const read = decodeSettingsRequest(readFileSync(join(stateDir, REQUEST_FILE)));
    return read.ok ? read.value : undefined;
  } catch {
    return undefined;
  }
}
