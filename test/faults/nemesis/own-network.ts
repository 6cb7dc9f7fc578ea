import { execFileSync } from 'node:child_process';
import type { Lab } from '../lab.ts';

/** A place with a network of its own, on one wire to this machine. */
export interface OwnNetwork {
  /** Of this machine, at our end of the wire. */
  readonly hostAddress: string;
  /** Put before a command that is to run there. */
  readonly wrap: readonly string[];
  /** Pulls the wire: nobody is told anything. */
  readonly cut: () => void;
  readonly mend: () => void;
}

const ip = (...words: string[]): void => void execFileSync('ip', words, { stdio: 'pipe' });
let made = 0;

/**
 * A network namespace with a pair of virtual cards (ip-netns(8), veth(4)), where this user may make one.
 *
 * @returns undefined where he may not; `lab.say` tells why
 */
export function ownNetwork(lab: Lab): OwnNetwork | undefined {
  const number = (process.pid * 4 + made++) % 16_000;
  const [space, here, there] = [`dusk${number}`, `duskh${number}`, `duskt${number}`];
  // A /30 of the range for tests of networks (RFC 2544, 198.18.0.0/15): nobody's.
  const base = 0xc6_12_00_00 + number * 4;
  const address = (last: number) =>
    [24, 16, 8, 0].map((shift) => ((base + last) >>> shift) & 255).join('.');
  try {
    ip('netns', 'add', space);
    lab.undo(() => ip('netns', 'del', space));
    ip('link', 'add', here, 'type', 'veth', 'peer', 'name', there, 'netns', space);
    ip('addr', 'add', `${address(1)}/30`, 'dev', here);
    ip('link', 'set', here, 'up');
    ip('-n', space, 'addr', 'add', `${address(2)}/30`, 'dev', there);
    ip('-n', space, 'link', 'set', there, 'up');
  } catch (cause) {
    lab.say(
      `no network of its own here, the proxy cuts the line instead: ${String(cause).split('\n')[0]}`,
    );
    return undefined;
  }
  return {
    hostAddress: address(1),
    wrap: ['ip', 'netns', 'exec', space],
    cut: () => ip('link', 'set', here, 'down'),
    mend: () => ip('link', 'set', here, 'up'),
  };
}
