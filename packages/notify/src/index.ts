export { breakerOf } from './breaker-of.ts';
export { callKey } from './call-key.ts';
export type { Channel, Delivery, OutgoingMessage } from './delivery.ts';
export { createEmailChannel, type EmailOptions } from './email-channel.ts';
export { faultOfAddress } from './fault-of-address.ts';
export type { Guard } from './guarded-request.ts';
export { createPushChannel, newVapidKeys, type VapidKeys } from './push-channel.ts';
export {
  createSender,
  type HeldCall,
  type OutboxPort,
  type Sender,
  type SendPoint,
} from './sender.ts';
export { createTextChannel, type TextGateway } from './text-channel.ts';
export { createWebhookChannel, newWebhookSecret } from './webhook-channel.ts';
