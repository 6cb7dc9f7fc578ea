import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { loadTestcontainers } from './load-testcontainers.ts';
import type { BrokerPlaces, RunningMosquitto } from './running-mosquitto.ts';
import { waitFor } from './wait-for.ts';

const INSIDE = '/duskline';

/** A Mosquitto in a container of its own; it keeps its files over a stop and a kill. */
export async function runMosquittoContainer(
  image: string,
  places: BrokerPlaces,
): Promise<RunningMosquitto> {
  const { GenericContainer, getContainerRuntimeClient, Wait } = await loadTestcontainers();
  const contentOf = async (name: string) => ({
    content: await readFile(path.join(places.folder, name), 'utf8'),
    target: `${INSIDE}/${name}`,
    mode: 0o644,
  });
  const container = await new GenericContainer(image)
    .withExposedPorts({ container: 1883, host: places.port })
    .withCopyContentToContainer(
      await Promise.all(['mosquitto.conf', 'acl', 'passwords'].map(contentOf)),
    )
    .withEntrypoint(['sh', '-c'])
    .withCommand([`mkdir -p ${INSIDE}/data && exec mosquitto -c ${INSIDE}/mosquitto.conf`])
    .withWaitStrategy(Wait.forLogMessage(/ running$/m))
    .start();
  // Known by its id: the runtime client can kill and start it again, the container object cannot.
  const client = await getContainerRuntimeClient();
  const engine = client.container.getById(container.getId());
  const running = async () => (await engine.inspect()).State.Running;
  const log = async () => (await engine.logs({ stdout: true, stderr: true })).toString('utf8');

  return {
    start: async () => {
      if (await running()) return;
      const before = runsIn(await log());
      await engine.start();
      await waitFor('Mosquitto to run again', async () => runsIn(await log()) > before);
    },
    signal: async (name) => {
      if (!(await running())) return;
      await engine.kill({ signal: name });
      if (name !== 'SIGHUP') await engine.wait();
    },
    takeFile: async (name) => {
      await container.copyContentToContainer([await contentOf(name)]);
    },
    log,
    remove: async () => {
      await container.stop();
    },
  };
}

/** How often the broker has said that it is running. */
function runsIn(log: string): number {
  return log.split(/ running$/m).length;
}
