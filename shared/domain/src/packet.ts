/** What came in by MQTT, before anybody has looked at it. */
export interface Packet {
  readonly topic: string;
  readonly payload: Uint8Array;
  /** MQTT 5 content type, where the broker carries one. */
  readonly contentType?: string;
  readonly receivedAtMs: number;
  /** The broker kept it and sends it because of a subscription: it may be of any age. */
  readonly retained?: boolean;
}

/** Why a message could not be accepted, in words that say what, where and how to mend it. */
export interface MessageFault {
  /** Stable, e.g. `json-malformed`, `unit-wrong`, `time-in-future`. */
  readonly code: string;
  /** One plain sentence: what is wrong, where, and how to mend it. */
  readonly reason: string;
}
