import type { NodeName } from '@duskline/domain';

export type RefusalCode =
  /** No such node, or not its secret. */
  | 'secret-wrong'
  | 'too-many-attempts'
  /** The user name is not a node's name. */
  | 'name-malformed'
  /** The client id is neither empty nor the node's own name. */
  | 'client-id-foreign'
  | 'will-foreign'
  | 'publish-foreign'
  | 'subscribe-foreign'
  | 'packet-too-large'
  | 'packet-malformed'
  | 'connections-full'
  /** The store did not take the message, so it was not acknowledged. */
  | 'not-stored';

/** Something the broker did not do, and why. */
export interface Refusal {
  readonly code: RefusalCode;
  /** One plain sentence. */
  readonly reason: string;
  readonly node?: NodeName;
  readonly topic?: string;
  /** Length of the whole packet. */
  readonly bytes?: number;
  /** What was seen of the packet's payload, at most 4 KB. */
  readonly head?: Uint8Array;
  /** Network address it came from. */
  readonly address?: string;
}

/** Closes a connection for a reason that has been noted already. */
export class Refused extends Error {
  readonly code: RefusalCode;

  constructor(refusal: Pick<Refusal, 'code' | 'reason'>) {
    super(refusal.reason);
    this.name = 'Refused';
    this.code = refusal.code;
  }
}
