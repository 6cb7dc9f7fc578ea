import {
  HOUR_MS,
  MINUTE_MS,
  type Lane,
  type MessagePlace,
  type NodeName,
  type SettingsInForce,
} from '@duskline/domain';
import {
  decodeAck,
  encodeFarewell,
  encodeHello,
  encodeSettingsInForce,
  topicFor,
} from '@duskline/wire';
import { openBrokerLine } from './broker-line.ts';
import { createSendQueue } from './send-queue.ts';
import { openSpool } from './spool.ts';
import { openUnsentFarewell } from './unsent-farewell.ts';

export interface PublisherOptions {
  readonly node: NodeName;
  /** `mqtt://…`, `mqtts://…`, `ws://…` or `wss://…` */
  readonly broker: string;
  readonly secret: string;
  /** Certificate authority of the broker, PEM, when it is not one the system knows. */
  readonly ca?: string | undefined;
  /** Folder for what is not yet acknowledged; it must survive a power cut. */
  readonly spoolDir: string;
  readonly onFault: (reason: string) => void;
  /** The server has committed something: there is room for more. */
  readonly onRoom?: () => void;
  /** A request of other settings came, as it is on the wire; the retained one comes again at every connection. */
  readonly onSettings?: (bytes: Uint8Array) => void;
  /** The answer to the newest request, said at every connection; undefined while there was none. */
  readonly settingsInForce?: () => SettingsInForce | undefined;
  /** Without an acknowledgement after this long, everything kept is sent again. */
  readonly resendMs?: number;
}

export interface Publisher {
  /** The number under which messages are counted now; a new one at each start. */
  readonly boot: () => number;
  /**
   * Keeps a message and sends it; it is forgotten only when the server says that it is committed. Also without a line.
   * @throws when the disk does not take it: then it is neither kept nor sent
   */
  readonly send: (message: {
    readonly lane: Lane;
    /** Kept with the message, e.g. how far a log has been read. */
    readonly note: string;
    readonly encode: (place: MessagePlace) => Uint8Array;
  }) => void;
  /** The note of the newest message ever kept, also from before a crash. */
  readonly lastNote: () => string | undefined;
  readonly keepNote: (note: string) => void;
  readonly connected: () => boolean;
  /** Is there a line, and are few enough messages on their way that one more is better sent now than later? */
  readonly hasRoom: () => boolean;
  /** Says what settings are in force, now and at every connection. */
  readonly confirmSettings: () => void;
  /** Messages kept and not yet committed at the server. */
  readonly waiting: () => number;
  /**
   * Waits until everything kept is committed, says farewell, and hangs up in good order; all within `withinMs`.
   * @returns whether the broker has the farewell
   */
  readonly farewell: (word: {
    readonly reason: string;
    /** Charge (0–1) as the node stops. */
    readonly chargeRatio?: number | undefined;
    readonly withinMs: number;
  }) => Promise<boolean>;
  /** Hangs up in good order, without a word. */
  readonly close: () => Promise<void>;
}

const RESEND_MS = 2 * MINUTE_MS;
const CLOSE_WITHIN_MS = 2000;
/** Messages of the present boot that may wait for their acknowledgement before a sender should hold back. */
const WINDOW = 16;
/** And of all boots: a start in a loop, with a server that is silent, must not fill the disk. */
const MOST_WAITING = 1000;

/** A line to Duskline for a script that reads its own sensors: store first, then send, forget last. */
export function openPublisher(options: PublisherOptions): Publisher {
  const { node, onFault, resendMs = RESEND_MS } = options;
  const upSinceS = process.hrtime.bigint();
  const spool = openSpool(options.spoolDir, { onFault });
  const unsent = openUnsentFarewell(options.spoolDir, onFault);
  let saying = true;

  const line = openBrokerLine({
    ...options,
    onUp() {
      if (saying) {
        repeatFarewell();
        void line.publish(topicFor(node, 'state'), hello(), { retain: true });
      }
      confirmSettings();
      queue.lineIsUp();
    },
    onDown: () => queue.lineIsDown(),
    onSettings: (bytes) => options.onSettings?.(bytes),
    onAck(bytes) {
      const ack = decodeAck(bytes);
      if (!ack.ok) return onFault(`an acknowledgement could not be read: ${ack.fault.reason}`);
      queue.acknowledge(ack.value);
      options.onRoom?.();
    },
  });
  const queue = createSendQueue({ node, spool, line, resendMs, longestResendMs: HOUR_MS, onFault });
  const timer = setInterval(queue.look, resendMs / 4);

  /**
   * First light, said at each connection so that it takes the place of a retained `dropped`. It keeps the time of the start,
   * counted back by a clock that nobody sets: a line that came back is no restart.
   */
  const hello = () => {
    const upMs = Number((process.hrtime.bigint() - upSinceS) / 1_000_000n);
    return encodeHello({ node, observedAtMs: Date.now() - upMs });
  };
  /** Of the run before, if the line was gone when it ended; before hello, so that hello is what stays retained. */
  const repeatFarewell = () => {
    const word = unsent.read();
    if (word === undefined) return;
    void line.publish(topicFor(node, 'state'), word, { retain: true }).then((taken) => {
      if (taken && saying) unsent.forget();
    });
  };
  const confirmSettings = () => {
    const settings = options.settingsInForce?.();
    if (settings !== undefined)
      void line.publish(topicFor(node, 'state'), encodeSettingsInForce(node, settings), {
        retain: false,
      });
  };
  const close = async () => {
    clearInterval(timer);
    await line.close(CLOSE_WITHIN_MS);
  };

  return {
    boot: spool.boot,
    send(message) {
      spool.add(message);
      queue.pump();
    },
    lastNote: spool.lastNote,
    keepNote: spool.keepNote,
    connected: line.connected,
    confirmSettings,
    waiting: () => spool.pending().length,
    hasRoom() {
      const pending = spool.pending();
      const ofThisBoot = pending.filter(({ place }) => place.boot === spool.boot()).length;
      return line.connected() && ofThisBoot < WINDOW && pending.length < MOST_WAITING;
    },
    async farewell({ reason, chargeRatio, withinMs }) {
      const untilMs = Date.now() + withinMs;
      saying = false;
      while (line.connected() && spool.pending().length > 0 && Date.now() < untilMs) await pause();
      const word = encodeFarewell({
        node,
        observedAtMs: Date.now(),
        reason,
        ...(chargeRatio === undefined ? {} : { chargeRatio }),
      });
      unsent.keep(word);
      const said = await Promise.race([
        line.publish(topicFor(node, 'state'), word, { retain: true }),
        pause(Math.max(CLOSE_WITHIN_MS, untilMs - Date.now())).then(() => false),
      ]);
      if (said) unsent.forget();
      await close();
      return said;
    },
    close,
  };
}

const pause = (ms = 50): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
