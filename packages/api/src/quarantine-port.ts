import type { MessageFault, NodeName } from '@duskline/domain';

/** Which messages in quarantine: all of them that wait when nothing is said. */
export interface QuarantineChoice {
  readonly ids?: readonly string[];
  readonly node?: NodeName;
  readonly code?: string;
  /** Only those not yet taken in; default true. */
  readonly waiting?: boolean;
}

interface Tally {
  readonly kept: number;
  readonly received: number;
}

export interface QuarantinePort {
  /** The latest first; `after` is the last entry of the page before. */
  list(
    choice: QuarantineChoice,
    page: {
      readonly limit: number;
      readonly after?: { readonly receivedAtMs: number; readonly id: string };
    },
  ): Promise<
    readonly {
      readonly id: string;
      readonly firstReceivedAtMs: number;
      readonly receivedAtMs: number;
      readonly topic: string;
      readonly node?: NodeName;
      readonly fault: MessageFault;
      readonly payload: Uint8Array;
      readonly count: number;
      readonly takenInAtMs?: number;
    }[]
  >;
  summary(): Promise<
    Tally & {
      readonly overCap: number;
      readonly byCode: readonly (Tally & { readonly code: string })[];
      readonly byNode: readonly (Tally & { readonly node: NodeName | undefined })[];
    }
  >;
  /** Who came that is no node here, the latest first. */
  unknownNodes(limit: number): Promise<
    readonly {
      readonly name: NodeName;
      readonly firstSeenAtMs: number;
      readonly lastSeenAtMs: number;
      readonly times: number;
    }[]
  >;
}

/** Tries again what is in quarantine. May be repeated. */
export type ReplayQuarantine = (choice: QuarantineChoice) => Promise<{
  readonly takenIn: number;
  readonly alreadyThere: number;
  readonly stillRefused: number;
  readonly more: boolean;
}>;
