/** What a node can be asked to do otherwise, from afar. */
export interface NodeSettings {
  /** Seconds from one line of its log to the next. */
  readonly logEveryS: number;
  /** Seconds from one publication to the next; readings wait for it on the node. */
  readonly publishEveryS: number;
}

/**
 * A request to a node. What it leaves out stays as the node's own configuration has it; with a date it holds until then, and
 * then the node goes back by itself: that is thrift.
 */
export interface SettingsRequest extends Partial<NodeSettings> {
  /** 1 to 64 of a-z, A-Z, 0-9, `-`, `_`: names the request in the confirmation. */
  readonly id: string;
  readonly thriftUntilMs?: number;
}

/** What a node says that it does, and by whose wish. */
export interface SettingsInForce extends NodeSettings {
  /** The request it followed or refused; the newest it has seen. */
  readonly id: string;
  readonly thriftUntilMs?: number;
  /** Why the request, or a part of it, is not followed. */
  readonly refusal?: string;
}
