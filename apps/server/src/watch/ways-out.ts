import type { ChannelKind, Person, PersonChannel } from '@duskline/domain';
import {
  createEmailChannel,
  createPushChannel,
  createTextChannel,
  createWebhookChannel,
  newVapidKeys,
  type Channel,
  type Guard,
  type VapidKeys,
} from '@duskline/notify';
import type { Store } from '@duskline/store';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Config } from '../config.ts';

export interface WaysOut {
  readonly channels: readonly Channel[];
  readonly kinds: readonly ChannelKind[];
  readonly pushKey: string;
  readonly guard: Guard;
  readonly close: () => void;
}

const NO_CONTACT = 'mailto:keeper@duskline.invalid';

/** The ways out this server has been set up for. Push and webhooks need nothing but a network; mail and text a server of theirs. */
export function openWaysOut(config: Config, vapid: VapidKeys, now: () => number): WaysOut {
  const { smtp, textGateway, contact = NO_CONTACT, trustedHosts = [] } = config.notify ?? {};
  const guard: Guard = trustedHosts.length === 0 ? {} : { trustedHosts };
  const source = config.http.publicUrl ?? 'urn:duskline';
  const channels: Channel[] = [
    createPushChannel({ vapid, contact, guard }),
    ...(smtp === undefined ? [] : [createEmailChannel(smtp)]),
    ...(textGateway === undefined ? [] : [createTextChannel(textGateway)]),
    createWebhookChannel({ source, guard, now }),
  ];
  return {
    channels,
    kinds: channels.map(({ kind }) => kind),
    pushKey: vapid.publicKey,
    guard,
    close: () => channels.forEach((channel) => channel.close?.()),
  };
}

/** Of a person, those that can be used here, in order. */
export const usableChannels = (
  person: Pick<Person, 'channels'>,
  kinds: readonly ChannelKind[],
): readonly PersonChannel[] =>
  person.channels.filter(({ kind, fault }) => fault === undefined && kinds.includes(kind));

/**
 * The key by which push services know us: made at the first start and shared by all servers of the database, for with another
 * every subscription would be worth nothing. A key that an earlier state kept in its data folder is taken over.
 */
export async function vapidKeysOf(store: Store, dataDir: string): Promise<VapidKeys> {
  const path = join(dataDir, 'push-keys.json');
  const offered = existsSync(path) ? readFileSync(path, 'utf8') : JSON.stringify(newVapidKeys());
  return JSON.parse(await store.serverSecrets.keep('push-keys', offered)) as VapidKeys;
}
