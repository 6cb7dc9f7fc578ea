import type { BrokerAddressJson } from '@duskline/contract';
import type { Config } from './config.ts';

const schemes = ['mqtt', 'mqtts', 'ws', 'wss'] as const;
/** Registered with IANA for MQTT, and what the web uses for its sockets. */
const usualPort = { mqtt: 1883, mqtts: 8883, ws: 80, wss: 443 } as const;
/** Addresses that mean "this computer": of no use to a node somewhere else. */
const here = /^(127\.|0\.0\.0\.0$|localhost$|\[?::1?\]?$)/;

/**
 * Where nodes publish, as the settings of a new one name it. Never with the consumer's name and password.
 *
 * @param lineUrl  where the line listens or is connected
 * @returns host null where only the person who asks can know it: the page then takes the host it was opened on
 */
export function brokerAddress(
  lineUrl: string,
  { http, externalBroker }: Pick<Config, 'http' | 'externalBroker'>,
): BrokerAddressJson {
  const url = new URL(externalBroker?.url ?? lineUrl);
  const scheme = schemes.find((one) => `${one}:` === url.protocol) ?? 'mqtt';
  const isHere = here.test(url.hostname);
  const publicHost = http.publicUrl === undefined ? null : new URL(http.publicUrl).hostname;
  return {
    scheme,
    host: isHere ? publicHost : url.hostname,
    port: url.port === '' ? usualPort[scheme] : Number(url.port),
  };
}
