import type { MessageFault, NodeName } from '@duskline/domain';
import { topicFor } from '@duskline/wire';

export const say = (cause: unknown): string =>
  cause instanceof Error ? cause.message : String(cause);

export const topicUnknown: MessageFault = {
  code: 'topic-unknown',
  reason: `A message must come on ${topicFor('<node>' as NodeName, 'live')}, …/backlog or …/state.`,
};

export const topicOfAnother = (from: NodeName, node: NodeName): MessageFault => ({
  code: 'topic-of-another',
  reason: `${from} sent a message on a topic of ${node}. A node speaks only for itself.`,
});

export const nodeUnknown = (node: NodeName): MessageFault => ({
  code: 'node-unknown',
  reason: `No node here is called ${node}. Make it in Setup, or correct the name in its topic.`,
});

export const readFailed = (cause: unknown): MessageFault => ({
  code: 'read-failed',
  reason:
    `The server failed while it read this message (${say(cause)}). ` +
    'The message is kept; please report it as a fault of the server.',
});

export const storeRefused = (cause: unknown): MessageFault => ({
  code: 'store-refused',
  reason: `The store could not take this message, though it took its neighbours: ${say(cause)}.`,
});
