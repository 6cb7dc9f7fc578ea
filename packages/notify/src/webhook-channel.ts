import { createHmac, randomBytes } from 'node:crypto';
import type { Channel, OutgoingMessage } from './delivery.ts';
import type { Guard } from './guarded-request.ts';
import { deliverByHttp } from './http-delivery.ts';

export const newWebhookSecret = (): string => `whsec_${randomBytes(24).toString('base64')}`;

/** Headers by the Standard Webhooks specification 1.0: `v1,` and the base64 of HMAC-SHA256 over `id.timestamp.body`. */
export function signedHeaders(
  {
    id,
    timestampS,
    body,
  }: { readonly id: string; readonly timestampS: number; readonly body: string },
  secret: string,
): Record<string, string> {
  const key = Buffer.from(secret.replace(/^whsec_/, ''), 'base64');
  const signature = createHmac('sha256', key)
    .update(`${id}.${timestampS}.${body}`)
    .digest('base64');
  return {
    'webhook-id': id,
    'webhook-timestamp': String(timestampS),
    'webhook-signature': `v1,${signature}`,
  };
}

/** The message as an event (CloudEvents 1.0, structured mode). */
export function eventOf(
  message: OutgoingMessage,
  source: string,
): Readonly<Record<string, unknown>> {
  return {
    specversion: '1.0',
    id: message.key,
    source,
    type: `org.duskline.${message.kind === 'call' ? 'alert.raised' : message.kind}`,
    time: new Date(message.createdAtMs).toISOString(),
    ...(message.alertId === undefined ? {} : { subject: message.alertId }),
    datacontenttype: 'application/json',
    data: {
      priority: message.priority,
      subject: message.subject,
      text: message.text,
      ...(message.link === undefined ? {} : { link: message.link }),
    },
  };
}

export function createWebhookChannel(options: {
  /** URI of this server: who speaks. */
  readonly source: string;
  readonly guard?: Guard;
  readonly now: () => number;
}): Channel {
  return {
    kind: 'webhook',
    send(message) {
      const body = JSON.stringify(eventOf(message, options.source));
      return deliverByHttp(
        {
          url: message.address,
          headers: {
            'content-type': 'application/cloudevents+json; charset=utf-8',
            'idempotency-key': message.key,
            ...signedHeaders(
              { id: message.key, timestampS: Math.floor(options.now() / 1000), body },
              message.keys['secret'] ?? '',
            ),
          },
          body,
        },
        options.guard ?? {},
      );
    },
  };
}
