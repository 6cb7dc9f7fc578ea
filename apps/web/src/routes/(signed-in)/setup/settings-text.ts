import type { NodeSecretJson } from '@duskline/contract';

/** MQTT's own port; a server that listens on another says so when it starts. */
const MQTT_PORT = 1883;

/** The field program's settings, ready but for the columns of the builder's own log. */
export const fieldSettings = ({ node }: NodeSecretJson, host: string): string =>
  JSON.stringify(
    {
      node,
      broker: `mqtt://${host}:${MQTT_PORT}`,
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
export const byHand = ({ node, secret }: NodeSecretJson, host: string): string =>
  `mosquitto_pub -h ${host} -p ${MQTT_PORT} -i ${node} -u ${node} -P '${secret}' ` +
  `-q 1 -t v1/${node}/up/live -m '[{"n":"batt_v","u":"V","v":12.9}]'`;
