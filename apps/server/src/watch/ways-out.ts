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
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
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
export function openWaysOut(config: Config, now: () => number): WaysOut {
  const { smtp, textGateway, contact = NO_CONTACT, trustedHosts = [] } = config.notify ?? {};
  const guard: Guard = trustedHosts.length === 0 ? {} : { trustedHosts };
  const vapid = vapidKeysOf(config.dataDir);
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

/** Made at the first start: with other keys every subscription would be worth nothing. */
function vapidKeysOf(dataDir: string): VapidKeys {
  const path = join(dataDir, 'push-keys.json');
  if (existsSync(path)) return JSON.parse(readFileSync(path, 'utf8')) as VapidKeys;
  const made = newVapidKeys();
  writeFileSync(path, JSON.stringify(made), { mode: 0o600 });
  return made;
}
