import type { Channel } from './delivery.ts';
import type { Guard } from './guarded-request.ts';
import { deliverByHttp } from './http-delivery.ts';

/** A gateway for text messages, whoever runs it: where to, how, and what to write. `{{to}}`, `{{text}}` and `{{key}}` are put in. */
export interface TextGateway {
  readonly url: string;
  readonly method?: 'POST' | 'GET' | 'PUT';
  readonly headers?: Readonly<Record<string, string>>;
  /** How values are written depends on the content type: JSON strings, form fields, or plain. */
  readonly body: string;
}

const PHONE = /^\+?[0-9]{6,15}$/;

export const plainPhone = (address: string): string | undefined => {
  const digits = address.replace(/[ ()-]/g, '');
  return PHONE.test(digits) ? digits : undefined;
};

/** The gateway's host is trusted, because the keeper wrote it down; none other is asked. */
export function createTextChannel(gateway: TextGateway, guard: Guard = {}): Channel {
  const contentType =
    Object.entries(gateway.headers ?? {}).find(
      ([name]) => name.toLowerCase() === 'content-type',
    )?.[1] ?? 'application/json';
  const url = new URL(gateway.url);
  return {
    kind: 'text',
    async send(message) {
      const to = plainPhone(message.address);
      if (to === undefined)
        return { kind: 'refused', error: 'This is no telephone number.', channel: 'fault' };
      const text = message.link === undefined ? message.text : `${message.text} ${message.link}`;
      const values: Readonly<Record<string, string>> = { to, text, key: message.key };
      const filled = (template: string, write: (value: string) => string) =>
        template.replace(/\{\{(to|text|key)\}\}/g, (_all, name: string) =>
          write(values[name] ?? ''),
        );
      return deliverByHttp(
        {
          url: filled(gateway.url, encodeURIComponent),
          method: gateway.method ?? 'POST',
          headers: {
            'content-type': contentType,
            'idempotency-key': message.key,
            ...gateway.headers,
          },
          body: filled(gateway.body, writerFor(contentType)),
        },
        { ...guard, trustedHosts: [...(guard.trustedHosts ?? []), url.host] },
      );
    },
  };
}

function writerFor(contentType: string): (value: string) => string {
  if (contentType.includes('json')) return (value) => JSON.stringify(value).slice(1, -1);
  if (contentType.includes('form-urlencoded')) return encodeURIComponent;
  return (value) => value;
}
