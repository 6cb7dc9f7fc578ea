import type { CallKind, ChannelKind, Priority } from '@duskline/domain';

/** One message to one address. */
export interface OutgoingMessage {
  /** The same at every attempt: whoever gets it twice can tell. At most 32 characters of base64url. */
  readonly key: string;
  readonly kind: CallKind;
  readonly priority: Priority;
  readonly alertId?: string;
  readonly createdAtMs: number;
  readonly subject: string;
  readonly text: string;
  /** Takes the alert. */
  readonly link?: string;
  readonly address: string;
  /** Of a push subscription, or the secret of a webhook. */
  readonly keys: Readonly<Record<string, string>>;
}

/** What became of an attempt. */
export type Delivery =
  | { readonly kind: 'sent' }
  /** The way out does not work at the moment: try again. */
  | { readonly kind: 'failed'; readonly error: string; readonly retryAfterMs?: number }
  /** This address takes nothing (`fault`), or says itself that it has ended; the way out is all right. */
  | { readonly kind: 'refused'; readonly error: string; readonly channel?: 'fault' | 'ended' };

/** One way out. It never throws for what happens on a normal day. */
export interface Channel {
  readonly kind: ChannelKind;
  send(message: OutgoingMessage): Promise<Delivery>;
  close?(): void;
}
