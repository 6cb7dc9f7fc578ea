import type { ChannelKind } from '@duskline/domain';
import { isPlainAddress } from './email-channel.ts';
import { checkedUrl, type Guard } from './guarded-request.ts';
import { plainPhone } from './text-channel.ts';

/** What is wrong with an address that somebody gives, in a sentence. */
export function faultOfAddress(
  kind: ChannelKind,
  address: string,
  guard: Guard = {},
): string | undefined {
  if (kind === 'email')
    return isPlainAddress(address) ? undefined : 'This is no plain e-mail address.';
  if (kind === 'text')
    return plainPhone(address) === undefined ? 'This is no telephone number.' : undefined;
  try {
    checkedUrl(address, guard);
    return undefined;
  } catch (cause) {
    return cause instanceof Error ? cause.message : 'The address cannot be used.';
  }
}
