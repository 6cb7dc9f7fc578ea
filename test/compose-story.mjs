// On the compose file as it is deployed: sign in with the account of the first start, put a site and its node up, publish
// through Mosquitto with the secret that was shown once, and see the reading at the API. Prints one line, or fails.
import mqtt from 'mqtt';

const [web, broker, account] = process.argv.slice(2);
const [email, password] = (account ?? '').split(' ');
const say = (line) => console.log(`compose: ${line}`);

async function call(path, { method = 'GET', body, cookie } = {}) {
  const answer = await fetch(`${web}${path}`, {
    method,
    headers: {
      origin: web,
      ...(body ? { 'content-type': 'application/json' } : {}),
      ...(cookie ? { cookie } : {}),
    },
    ...(body ? { body: JSON.stringify(body) } : {}),
  });
  const text = await answer.text();
  if (!answer.ok) throw new Error(`${method} ${path} answered ${answer.status}: ${text}`);
  return {
    cookie: answer.headers.get('set-cookie')?.split(';')[0],
    json: text === '' ? undefined : JSON.parse(text),
  };
}

const { cookie } = await call('/api/v1/session', { method: 'POST', body: { email, password } });
await call('/api/v1/sites', {
  method: 'POST',
  cookie,
  body: {
    id: 'blea-edge',
    name: 'Blea Edge',
    latitudeDeg: 54.9,
    longitudeDeg: -2.9,
    elevationM: 506,
    timeZone: 'Europe/London',
  },
});
const { json: node } = await call('/api/v1/sites/blea-edge/node', {
  method: 'POST',
  cookie,
  body: {
    name: 'blea-edge-1',
    panelW: 24,
    panelTiltDeg: 68,
    panelAzimuthDeg: 180,
    batteryChemistry: 'lifepo4',
    batteryWh: 307,
    seriesCells: 4,
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.1,
    usualGapS: 60,
  },
});
// Mosquitto reads its password file anew within two seconds.
const untilMs = Date.now() + 30_000;
let client;
while (client === undefined) {
  try {
    client = await mqtt.connectAsync(broker, {
      clientId: node.node,
      username: node.node,
      password: node.secret,
      reconnectPeriod: 0,
    });
  } catch (cause) {
    if (Date.now() > untilMs) throw cause;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
}
await client.publishAsync('v1/blea-edge-1/up/live', '[{"n":"charge","u":"%EL","v":83}]', {
  qos: 1,
});
await client.endAsync();
for (;;) {
  const { json } = await call('/api/v1/sites', { cookie });
  if (json.sites[0].chargeRatio === 0.83) break;
  if (Date.now() > untilMs)
    throw new Error(`The reading did not arrive: ${JSON.stringify(json.sites[0])}`);
  await new Promise((resolve) => setTimeout(resolve, 200));
}
say('a node put up through the API published through Mosquitto, and its reading is at the API');
