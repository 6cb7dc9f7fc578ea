import type { ChannelKind } from '@duskline/domain';

/** What fails together: mail and text messages as a whole, webhooks and push by the host they go to. */
export function breakerOf(kind: ChannelKind, address: string): string {
  if (kind === 'email' || kind === 'text') return kind;
  return `${kind}:${URL.canParse(address) ? new URL(address).host : 'unknown'}`;
}
