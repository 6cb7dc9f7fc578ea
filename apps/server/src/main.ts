import { fileURLToPath } from 'node:url';
import { pino } from 'pino';
import { readConfig } from './config.ts';
import { startServer } from './start-server.ts';

/** Where the web app lies when it was built in its place; the same from the sources and from their build. */
const builtWeb = fileURLToPath(new URL('../../web/build', import.meta.url));

const config = readConfig();
const log = pino({ level: config.logLevel });

try {
  const server = await startServer({ ...config, webRoot: config.webRoot ?? builtWeb }, log);
  const stop = () => {
    server.stop().then(
      () => process.exit(0),
      () => process.exit(1),
    );
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
  const first = await server.makeFirstAccount('keeper@localhost');
  if (first !== undefined)
    process.stdout.write(`account: ${first.account.email} ${first.password}\n`);
  process.stdout.write(`web: ${server.url}\nmqtt: ${server.mqttUrl}\n`);
} catch (cause) {
  process.stderr.write(`${cause instanceof Error ? cause.message : String(cause)}\n`);
  process.exit(1);
}
