import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { waitFor } from '@duskline/test-harness';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** What the demo prints on lines of their own. */
export interface DemoLines {
  readonly web: string;
  readonly email: string;
  readonly password: string;
  readonly token: string;
  readonly mqtt: { readonly url: string; readonly node: string; readonly secret: string };
  /** The whole command that publishes a reading by hand. */
  readonly command: string;
  readonly readyAfterS: number;
}

export interface DemoProcess {
  readonly lines: DemoLines;
  readonly output: () => string;
  /** Ctrl-C; resolves when every process of it has ended. */
  readonly interrupt: () => Promise<void>;
}

/** `npm run demo`, as the README says it, in a folder and on ports of its own. */
export async function startDemo(env: Readonly<Record<string, string>>): Promise<DemoProcess> {
  const child = spawn('npm', ['run', 'demo'], {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
    // A group of its own, so that Ctrl-C can be pressed for it alone.
    detached: true,
  });
  let printed = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (bytes: Buffer) => {
      printed += bytes.toString();
    });
  try {
    await waitFor(
      'the demo to be ready',
      () => {
        return child.exitCode !== null || printed.includes('ready after');
      },
      { withinMs: 180_000, everyMs: 200 },
    );
    if (child.exitCode !== null) throw new Error('It ended.');
  } catch (cause) {
    await interrupt(child);
    throw new Error(`The demo did not get ready:\n${printed}`, { cause });
  }
  return { lines: readLines(printed), output: () => printed, interrupt: () => interrupt(child) };
}

async function interrupt(child: ChildProcess): Promise<void> {
  if (child.pid === undefined || child.stdout?.destroyed === true) return;
  // Its output ends when the last process that writes to it has ended.
  const gone = once(child, 'close');
  process.kill(-child.pid, 'SIGINT');
  await gone;
}

function readLines(printed: string): DemoLines {
  const line = (start: RegExp): string => {
    const found = printed.split('\n').find((text) => start.test(text));
    if (found === undefined) throw new Error(`The demo printed no line like ${start}:\n${printed}`);
    return found.replace(start, '').trim();
  };
  const [email = '', password = ''] = line(/^account: /).split(' ');
  const [url = '', node = '', secret = ''] = line(/^mqtt: /).split(' ');
  return {
    web: line(/^web: /),
    email,
    password,
    token: line(/^token: /),
    mqtt: { url, node, secret },
    command: `mosquitto_pub ${line(/^mosquitto_pub /)}`,
    readyAfterS: Number(/ready after (\d+) s/.exec(printed)?.[1]),
  };
}
