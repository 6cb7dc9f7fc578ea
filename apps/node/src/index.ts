export { createLogFollower, type LogFollower } from './log-follower.ts';
export { parseNodeConfig, type NodeConfig } from './node-config.ts';
export { openPublisher, type Publisher, type PublisherOptions } from './publisher.ts';
export { openRejectedLines, type RejectedLines } from './rejected-lines.ts';
