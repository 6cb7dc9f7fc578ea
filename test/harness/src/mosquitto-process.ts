import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { connect } from 'node:net';
import path from 'node:path';
import type { BrokerPlaces, RunningMosquitto } from './running-mosquitto.ts';
import { waitFor } from './wait-for.ts';

/** An installed Mosquitto as a child process. */
export async function runMosquittoProcess(
  program: string,
  places: BrokerPlaces,
): Promise<RunningMosquitto> {
  let child: ChildProcess | undefined;
  let output = '';
  const running = () => child !== undefined && child.exitCode === null && child.signalCode === null;

  const signal: RunningMosquitto['signal'] = async (name) => {
    if (child === undefined || !running()) return;
    const ended = name === 'SIGHUP' ? undefined : once(child, 'exit');
    child.kill(name);
    await ended;
  };
  return {
    start: async () => {
      child = spawn(program, ['-c', path.join(places.folder, 'mosquitto.conf')], {
        stdio: ['ignore', 'pipe', 'pipe'],
      });
      const listen = (data: Buffer) => (output += data.toString());
      child.stdout?.on('data', listen);
      child.stderr?.on('data', listen);
      await waitFor('Mosquitto to listen', async () => {
        if (!running()) throw new Error(`it ended: ${output.slice(-500)}`);
        return listens(places.port);
      });
    },
    signal,
    // The broker reads the files where they were written.
    takeFile: () => Promise.resolve(),
    log: () => Promise.resolve(output),
    remove: () => signal('SIGTERM'),
  };
}

/** @returns whether somebody takes connections on this port of 127.0.0.1. */
export async function listens(port: number): Promise<boolean> {
  const socket = connect(port, '127.0.0.1');
  try {
    await once(socket, 'connect');
    return true;
  } catch {
    return false;
  } finally {
    socket.destroy();
  }
}
