export { followOnce } from './follow-and-publish.ts';
export { parseNodeConfig, type NodeConfig } from './node-config.ts';
export { openPublisher, type Publisher, type PublisherOptions } from './publisher.ts';
