import type { MessagePlace, NodeName } from '@duskline/domain';
import { topicFor } from '@duskline/wire';
import type { BrokerLine } from './broker-line.ts';
import type { Spool, SpoolEntry } from './spool.ts';

export interface SendQueue {
  readonly lineIsUp: () => void;
  readonly lineIsDown: () => void;
  /** Sends what is kept and was not yet sent on this line, as far as there is room. */
  readonly pump: () => void;
  readonly acknowledge: (place: MessagePlace) => void;
  /** To be called now and then: does something wait for too long? */
  readonly look: () => void;
}

/** On their way to the broker at once; the rest waits on the disk and not in memory. */
const IN_FLIGHT = 16;
/** After so many repetitions without an answer, what comes next is counted under a new boot. */
const SILENT_RESENDS = 2;

/**
 * Decides what of the spool goes out when. Every line begins with everything that is kept, in order.
 *
 * The server acknowledges without gaps. If it will never acknowledge one message (it went to quarantine, or the server was
 * set up anew and never saw the first of this boot), everything behind it would wait for ever. So, when the broker takes
 * messages but no acknowledgement comes, numbering begins anew; and what was taken on this very line, long before something
 * of a later boot that is acknowledged, is set aside: it is sent no more, and its file is kept.
 */
export function createSendQueue(options: {
  readonly node: NodeName;
  readonly spool: Spool;
  readonly line: Pick<BrokerLine, 'connected' | 'publish'>;
  readonly resendMs: number;
  readonly longestResendMs: number;
  readonly onFault: (reason: string) => void;
  readonly now?: () => number;
}): SendQueue {
  const { node, spool, line, resendMs, longestResendMs, onFault, now = Date.now } = options;
  /** When the broker took it, on this line. */
  let takenAtMs = new Map<SpoolEntry, number>();
  let sentUpTo: MessagePlace | undefined;
  let inFlight = 0;
  let lines = 0;
  let progressAtMs = now();
  let silentResends = 0;
  let begunAnew = false;

  function pump(): void {
    while (line.connected() && inFlight < IN_FLIGHT) {
      const entry = firstAfter(spool.pending(), sentUpTo);
      if (entry === undefined) return;
      sentUpTo = entry.place;
      const payload = spool.read(entry);
      if (payload === undefined) {
        onFault(
          `the disk no longer gives back the kept message ${say(entry.place)}; a restart reads its lines again`,
        );
        continue;
      }
      send(entry, payload);
    }
  }

  function send(entry: SpoolEntry, payload: Uint8Array): void {
    const ofLine = lines;
    inFlight += 1;
    void line.publish(topicFor(node, entry.lane), payload, { retain: false }).then((taken) => {
      if (ofLine !== lines) return;
      inFlight -= 1;
      if (!taken) return;
      takenAtMs.set(entry, takenAtMs.get(entry) ?? now());
      pump();
    });
  }

  function startOver(): void {
    sentUpTo = undefined;
    progressAtMs = now();
    pump();
  }

  function setAsideRefused(acknowledged: MessagePlace): void {
    for (const entry of [...spool.pending()]) {
      const takenMs = takenAtMs.get(entry);
      if (entry.place.boot >= acknowledged.boot || takenMs === undefined) continue;
      if (now() - takenMs < resendMs) continue;
      spool.setAside(entry);
      takenAtMs.delete(entry);
      onFault(
        `the message ${say(entry.place)} was taken but never confirmed, though later ones were; see the quarantine; its file is in set-aside/`,
      );
    }
  }

  return {
    pump,
    lineIsUp() {
      lines += 1;
      inFlight = 0;
      takenAtMs = new Map();
      startOver();
    },
    lineIsDown() {
      lines += 1;
      inFlight = 0;
    },
    acknowledge(place) {
      const before = spool.pending().length;
      spool.acknowledge(place);
      setAsideRefused(place);
      const waiting = new Set(spool.pending());
      for (const entry of takenAtMs.keys()) if (!waiting.has(entry)) takenAtMs.delete(entry);
      if (waiting.size < before) {
        progressAtMs = now();
        silentResends = 0;
        begunAnew = false;
      }
      pump();
    },
    look() {
      if (!line.connected() || spool.pending().length === 0) return;
      if (now() - progressAtMs < Math.min(longestResendMs, resendMs * 2 ** silentResends)) return;
      silentResends += 1;
      const allTaken = spool.pending().every((entry) => takenAtMs.has(entry));
      if (silentResends >= SILENT_RESENDS && allTaken && !begunAnew) {
        begunAnew = true;
        spool.beginBoot();
        onFault(
          `the broker takes messages, but the server confirms none; counting goes on as boot ${spool.boot()}`,
        );
      }
      startOver();
    },
  };
}

const say = ({ boot, seq }: MessagePlace): string => `${boot}/${seq}`;

/** The first entry behind a place, by bisection: months without a line leave many. */
function firstAfter(
  entries: readonly SpoolEntry[],
  place: MessagePlace | undefined,
): SpoolEntry | undefined {
  if (place === undefined) return entries[0];
  let [low, high] = [0, entries.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    const there = (entries[middle] as SpoolEntry).place;
    const behind = there.boot > place.boot || (there.boot === place.boot && there.seq > place.seq);
    if (behind) high = middle;
    else low = middle + 1;
  }
  return entries[low];
}
