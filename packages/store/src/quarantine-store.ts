import type { MessageFault, MessagePlace, NodeName, Packet } from '@duskline/domain';

/** A message that could not be accepted. */
export interface NewQuarantineEntry {
  readonly packet: Packet;
  readonly node?: NodeName;
  readonly fault: MessageFault;
  /** Where it stands in its node's life, if that could be read. */
  readonly place?: MessagePlace;
}

export interface QuarantineEntry {
  readonly id: string;
  /** When it came first: what relative times in it are relative to. */
  readonly firstReceivedAtMs: number;
  /** When it came last. */
  readonly receivedAtMs: number;
  readonly topic: string;
  readonly node?: NodeName;
  readonly fault: MessageFault;
  readonly payload: Uint8Array;
  readonly contentType?: string;
  /** How many times the same bytes came. */
  readonly count: number;
  /** Its number was made known to its node as settled. */
  readonly settled: boolean;
  /** When it was taken in after all. */
  readonly takenInAtMs?: number;
}

/** Which entries: all of them when nothing is said. */
export interface QuarantineFilter {
  readonly ids?: readonly string[];
  readonly node?: NodeName;
  readonly code?: string;
  /** Only those not yet taken in; default true. */
  readonly waiting?: boolean;
}

/** Different messages kept and not yet taken in, and how many came in all. */
export interface QuarantineTally {
  readonly kept: number;
  readonly received: number;
}

export interface QuarantineSummary extends QuarantineTally {
  readonly byCode: readonly (QuarantineTally & { readonly code: string })[];
  readonly byNode: readonly (QuarantineTally & { readonly node: NodeName | undefined })[];
  /** Different messages that came over a node's cap for the day, and so are counted and not kept. */
  readonly overCap: number;
}

/** Somebody who is no node here and came nevertheless. */
export interface UnknownNode {
  readonly name: NodeName;
  readonly firstSeenAtMs: number;
  readonly lastSeenAtMs: number;
  readonly times: number;
}

export interface QuarantineStore {
  /**
   * Keeps the packet whole. The same bytes count up; over a node's cap for the day only a count is kept. A place that could
   * be read is settled in the same statement: the watermark passes it.
   *
   * @returns everything of that boot up to this place is settled
   */
  add(entry: NewQuarantineEntry): Promise<MessagePlace | undefined>;
  /** The same of several, best of one node, in their order and in one commit. */
  addAll(entries: readonly NewQuarantineEntry[]): Promise<readonly (MessagePlace | undefined)[]>;
  /** The latest first. */
  recent(limit: number): Promise<readonly QuarantineEntry[]>;
  /** The latest first; `after` is the last entry of the page before. */
  list(
    filter: QuarantineFilter,
    page: {
      readonly limit: number;
      readonly after?: { readonly receivedAtMs: number; readonly id: string };
    },
  ): Promise<readonly QuarantineEntry[]>;
  summary(): Promise<QuarantineSummary>;
  /** Notes that an entry was taken in. */
  takenIn(ids: readonly string[], nowMs: number): Promise<void>;
  /** Notes that an entry was tried again, and why it still cannot be accepted. */
  refusedAgain(id: string, fault: MessageFault): Promise<void>;
  /** Messages that could not be accepted, those over the cap included. */
  count(): Promise<number>;
  /** Somebody came under a name no node has; at most 1,000 names are kept. */
  noteUnknownNode(name: NodeName, nowMs: number): Promise<void>;
  /** The latest first; those that have become nodes since are not among them. */
  unknownNodes(limit: number): Promise<readonly UnknownNode[]>;
}
