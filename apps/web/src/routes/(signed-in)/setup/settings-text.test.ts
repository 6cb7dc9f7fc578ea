import { expect, it } from 'vitest';
import { byHand, fieldSettings } from './settings-text.ts';

const secret = { node: 'tarn-gill', secret: 'abc-123' };

it('never writes the secret into the settings, only where it is kept', () => {
  const settings = JSON.parse(fieldSettings(secret, 'example.org')) as Record<string, unknown>;
  expect(settings).toMatchObject({ node: 'tarn-gill', broker: 'mqtt://example.org:1883' });
  expect(JSON.stringify(settings)).not.toContain('abc-123');
});

it('publishes by hand under the node’s own name only', () => {
  // Options as in the manual page of mosquitto_pub: -i client id, -u user, -P password, -q QoS, -t topic, -m message.
  expect(byHand(secret, 'example.org')).toBe(
    `mosquitto_pub -h example.org -p 1883 -i tarn-gill -u tarn-gill -P 'abc-123' -q 1 -t v1/tarn-gill/up/live -m '[{"n":"batt_v","u":"V","v":12.9}]'`,
  );
});
