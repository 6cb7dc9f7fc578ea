export type { Accept, AcceptOutcome } from './accept-outcome.ts';
export { connectSlots, type Slots, type SlotsOptions } from './connect-slots.ts';
export { MOST_SLOTS } from './slot-filters.ts';
export { connectConsumer, type Consumer, type ConsumerOptions } from './consumer.ts';
export type { IntakeLog } from './intake-log.ts';
export {
  createReceiver,
  receiveSteps,
  type ReceiveStep,
  type Receiver,
  type ReceiverDeps,
  type ReceiverFigures,
} from './receiver.ts';
export type { Rejected } from './rejected.ts';
export { RetryLater } from './retry-later.ts';
export * from './card/index.ts';
export { nodeUnknown, storeRefused } from './intake-faults.ts';
export { storeBatch, type Verdict } from './store-batch.ts';
