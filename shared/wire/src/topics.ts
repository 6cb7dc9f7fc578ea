import { parseNodeName, type NodeName } from '@duskline/domain';

/** What a node publishes on: fresh readings, the past being caught up on, and what it says of itself. */
export type UpKind = 'live' | 'backlog' | 'state';
export type TopicKind = UpKind | 'ack' | 'settings';

export interface UpTopic {
  readonly node: NodeName;
  readonly kind: UpKind;
}

const VERSION = 'v1';

/**
 * The node and lane a message came by.
 *
 * @param topic any MQTT topic
 * @returns undefined when it is not exactly `v1/<node>/up/live|backlog|state`
 */
export function parseTopic(topic: string): UpTopic | undefined {
  const [version, name, direction, kind, ...rest] = topic.split('/', 6);
  if (version !== VERSION || direction !== 'up' || rest.length > 0) return undefined;
  if (kind !== 'live' && kind !== 'backlog' && kind !== 'state') return undefined;
  const node = name === undefined ? undefined : parseNodeName(name);
  return node === undefined ? undefined : { node, kind };
}

/** The topic of one kind of message of one node: `up` for what the node says, `down` for what it is told. */
export function topicFor(node: NodeName, kind: TopicKind): string {
  const direction = kind === 'ack' || kind === 'settings' ? 'down' : 'up';
  return `${VERSION}/${node}/${direction}/${kind}`;
}
