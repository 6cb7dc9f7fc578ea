import webPush from 'web-push';
import type { Channel } from './delivery.ts';
import type { Guard } from './guarded-request.ts';
import { deliverByHttp } from './http-delivery.ts';

export interface VapidKeys {
  readonly publicKey: string;
  readonly privateKey: string;
}

export const newVapidKeys = (): VapidKeys => webPush.generateVAPIDKeys();

/** A push service keeps it so long for a phone that is off. */
const TTL_S = { P1: 3600, P2: 12 * 3600, P3: 24 * 3600 } as const;
const URGENCY = { P1: 'high', P2: 'normal', P3: 'low' } as const;

/** Web Push (RFC 8030, 8291, 8292): encrypted for the browser, signed with our key; the key of the message is its topic. */
export function createPushChannel(options: {
  readonly vapid: VapidKeys;
  /** `mailto:` or https address of the keeper (RFC 8292 §2.1). */
  readonly contact: string;
  readonly guard?: Guard;
}): Channel {
  return {
    kind: 'push',
    async send(message) {
      const { p256dh = '', auth = '' } = message.keys;
      let details;
      try {
        details = webPush.generateRequestDetails(
          { endpoint: message.address, keys: { p256dh, auth } },
          JSON.stringify({
            key: message.key,
            title: message.subject,
            body: message.text,
            ...(message.alertId === undefined ? {} : { alertId: message.alertId }),
            ...(message.link === undefined ? {} : { link: message.link }),
          }),
          {
            vapidDetails: { subject: options.contact, ...options.vapid },
            TTL: TTL_S[message.priority],
            urgency: URGENCY[message.priority],
            topic: message.key,
          },
        );
      } catch {
        return {
          kind: 'refused',
          error: 'The keys of this push subscription are not right.',
          channel: 'fault',
        };
      }
      return deliverByHttp(
        {
          url: details.endpoint,
          headers: Object.fromEntries(
            Object.entries(details.headers).map(([name, value]) => [name, String(value)]),
          ),
          body: details.body ?? '',
        },
        options.guard ?? {},
        { goneAt404: true },
      );
    },
  };
}
