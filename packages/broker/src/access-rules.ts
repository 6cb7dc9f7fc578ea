import type { NodeName } from '@duskline/domain';
import { parseTopic, topicFor } from '@duskline/wire';

const SHOWN_CHARACTERS = 120;

/** A topic as it may stand in a log line: quoted, escaped and cut. */
export const shownTopic = (topic: string): string =>
  JSON.stringify(topic.length > SHOWN_CHARACTERS ? `${topic.slice(0, SHOWN_CHARACTERS)}…` : topic);

/**
 * Why a node may not publish to a topic.
 *
 * Topics that begin with `$` come first: aedes itself acts on some of them (a publish to `$SYS/x/new/clients` closes the
 * connection of any client it names), and its own guard is gone once `authorizePublish` is replaced.
 *
 * @returns one plain sentence, or undefined when it may
 */
export function whyNotPublish(node: NodeName, topic: string): string | undefined {
  if (topic.startsWith('$')) {
    return `Topics that begin with $ belong to the broker; ${node} published to ${shownTopic(topic)}.`;
  }
  if (parseTopic(topic)?.node === node) return undefined;
  return (
    `${node} may publish only to ${topicFor(node, 'live')}, ${topicFor(node, 'backlog')} and ` +
    `${topicFor(node, 'state')}; it published to ${shownTopic(topic)}.`
  );
}

/** May readings be kept as retained messages there? Only what a node says of its own state may. */
export const mayRetain = (topic: string): boolean => parseTopic(topic)?.kind === 'state';

/**
 * Why a node may not leave a will on a topic: only its own state may carry one.
 *
 * @returns one plain sentence, or undefined when it may
 */
export function whyNotWill(node: NodeName, topic: string): string | undefined {
  if (topic === topicFor(node, 'state')) return undefined;
  return `${node} may leave a will only on ${topicFor(node, 'state')}, not on ${shownTopic(topic)}.`;
}

/** The topics a node is sent something on. */
const downTopics = (node: NodeName): readonly string[] => [
  topicFor(node, 'ack'),
  topicFor(node, 'settings'),
];

/** Every filter a node may subscribe to: its two topics, and the two wildcards that mean no more than those. */
function ownFilters(node: NodeName): readonly string[] {
  const stem = topicFor(node, 'ack').slice(0, -'ack'.length);
  return [...downTopics(node), `${stem}#`, `${stem}+`];
}

/**
 * Why a node may not subscribe to a filter. Filters are compared whole, never matched: nothing a wildcard, `$share/`
 * or a look-alike letter could mean is ever weighed.
 *
 * @returns one plain sentence, or undefined when it may
 */
export function whyNotSubscribe(node: NodeName, filter: string): string | undefined {
  const own = ownFilters(node);
  if (own.includes(filter)) return undefined;
  return `${node} may subscribe only to ${own.join(', ')}; it asked for ${shownTopic(filter)}.`;
}

/** May a message on this topic be delivered to this node? The second wall, for what a subscription has let through. */
export const mayReceive = (node: NodeName, topic: string): boolean =>
  downTopics(node).includes(topic);
