import type { NodeSecretJson } from '@duskline/contract';
import { expect, it } from 'vitest';
import { brokerUrl, byHand, fieldSettings, squareText } from './settings-text.ts';

const secret: NodeSecretJson = {
  node: 'tarn-gill',
  secret: 'abc-123',
  broker: { scheme: 'mqtt', host: null, port: 21883 },
};

it('never writes the secret into the settings, only where it is kept', () => {
  const settings = JSON.parse(fieldSettings(secret, 'example.org')) as Record<string, unknown>;
  expect(settings).toMatchObject({ node: 'tarn-gill', broker: 'mqtt://example.org:21883' });
  expect(JSON.stringify(settings)).not.toContain('abc-123');
});

it('publishes by hand under the node’s own name only', () => {
  // Options as in the manual page of mosquitto_pub: -i client id, -u user, -P password, -q QoS, -t topic, -m message.
  expect(byHand(secret, 'example.org')).toBe(
    `mosquitto_pub -h example.org -p 21883 -i tarn-gill -u tarn-gill -P 'abc-123' -q 1 -t v1/tarn-gill/up/live -m '[{"n":"batt_v","u":"V","v":12.9}]'`,
  );
});

it('goes to the broker the server names, and to the page’s own host where it names none', () => {
  expect(brokerUrl(secret, 'page.example.org')).toBe('mqtt://page.example.org:21883');
  const named: NodeSecretJson = {
    ...secret,
    broker: { scheme: 'mqtts', host: 'mqtt.example.org', port: 8883 },
  };
  expect(brokerUrl(named, 'page.example.org')).toBe('mqtts://mqtt.example.org:8883');
});

it('puts into the square code what a box needs to publish', () => {
  expect(JSON.parse(squareText(secret, 'example.org'))).toEqual({
    node: 'tarn-gill',
    secret: 'abc-123',
    broker: 'mqtt://example.org:21883',
  });
});
