import type { NodeSecretJson } from '@duskline/contract';

/** Where the node publishes, as one address. `host` is the page's, for a server that only knows itself. */
export const brokerUrl = ({ broker }: NodeSecretJson, host: string): string =>
  `${broker.scheme}://${broker.host ?? host}:${broker.port}`;

/** The field program's settings, ready but for the columns of the builder's own log. */
export const fieldSettings = (secret: NodeSecretJson, host: string): string =>
  JSON.stringify(
    {
      node: secret.node,
      broker: brokerUrl(secret, host),
      secretFile: 'secret',
      stateDir: 'state',
      log: {
        path: 'log.csv',
        separator: ',',
        header: false,
        time: { column: 1, format: 'unix' },
        columns: [
          { column: 2, metric: 'batt_v', unit: 'V' },
          { column: 3, metric: 'panel_w', unit: 'W' },
          { column: 4, metric: 'load_w', unit: 'W' },
        ],
      },
    },
    null,
    2,
  );

/** A reading published by hand with a stock MQTT client. */
export const byHand = ({ node, secret, broker }: NodeSecretJson, host: string): string =>
  `mosquitto_pub -h ${broker.host ?? host} -p ${broker.port} -i ${node} -u ${node} -P '${secret}' ` +
  `-q 1 -t v1/${node}/up/live -m '[{"n":"batt_v","u":"V","v":12.9}]'`;

/** What the square code holds: enough for a box to publish, and nothing else. */
export const squareText = (secret: NodeSecretJson, host: string): string =>
  JSON.stringify({ node: secret.node, secret: secret.secret, broker: brokerUrl(secret, host) });
