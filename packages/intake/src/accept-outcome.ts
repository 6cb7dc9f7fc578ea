import type { AcceptedMessage, MessagePlace, NodeId } from '@duskline/domain';

/** What became of a message that was handed to the store. */
export type AcceptOutcome =
  | {
      readonly kind: 'stored' | 'duplicate';
      readonly nodeId: NodeId;
      /** Everything of that boot up to this place is committed. */
      readonly ack?: MessagePlace;
    }
  | { readonly kind: 'unknown-node' };

/**
 * Stores a batch in one statement: all of it or, when this rejects, nothing. Answers in the order of the messages.
 */
export type Accept = (messages: readonly AcceptedMessage[]) => Promise<readonly AcceptOutcome[]>;
