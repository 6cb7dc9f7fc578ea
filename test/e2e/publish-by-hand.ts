import { execFile, execFileSync } from 'node:child_process';
import { promisify } from 'node:util';

const run = promisify(execFile);

function works(program: string, args: readonly string[]): boolean {
  try {
    execFileSync(program, [...args], {
      stdio: 'ignore',
      env: { ...process.env, PYTHONPATH: DEBIAN_PYTHON },
    });
    return true;
  } catch {
    return false;
  }
}

/** Where Debian puts its Python packages: another Python than Debian's own does not look there by itself. */
const DEBIAN_PYTHON = '/usr/lib/python3/dist-packages';

export const hasMosquittoPub =
  works('mosquitto_pub', ['--version']) || works('which', ['mosquitto_pub']);
export const hasPaho = works('python3', ['-c', 'import paho.mqtt.publish']);

/** Runs a command line as it was printed, as somebody would who copied it. */
export async function runPrinted(command: string): Promise<void> {
  await run('sh', ['-c', command]);
}

/** Publishes one payload with Debian's python3-paho-mqtt, as a builder's ten-line script would. */
export async function publishWithPaho(
  at: { readonly host: string; readonly port: number },
  node: { readonly name: string; readonly secret: string },
  payload: string,
): Promise<void> {
  const script = `
import sys
import paho.mqtt.publish as publish
host, port, name, secret, payload = sys.argv[1:]
publish.single(f"v1/{name}/up/live", payload, qos=1, hostname=host, port=int(port),
               client_id=name, auth={"username": name, "password": secret})
`;
  await run('python3', ['-c', script, at.host, String(at.port), node.name, node.secret, payload], {
    env: { ...process.env, PYTHONPATH: DEBIAN_PYTHON },
  });
}
