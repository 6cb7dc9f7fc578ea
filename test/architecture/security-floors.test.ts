import { describe, expect, it } from 'vitest';
import { readProjectFile } from './workspace.ts';

/**
 * No version below which a published advisory applies to the way we use the package.
 * Source: the project's reliability notes of November 2026, which name the advisory beside each.
 */
const floors: Readonly<Record<string, string>> = {
  fastify: '5.12.8', // content-type validation bypasses up to CVE-2026-33806
  '@fastify/static': '9.1.1', // encoded-slash guard bypass, CVE-2026-6414
  '@fastify/proxy-addr': '5.1.1', // forged forwarding headers, CVE-2026-92395
  'socket.io-parser': '4.2.6', // attachment flood, CVE-2026-33151
  ws: '8.21.0', // CVE-2026-45736, CVE-2026-48779
  aedes: '1.2.0', // two QoS 2 advisories; before it prototype names and many-level topics
  svelte: '5.55.7', // GHSA-f3cj-j4f6-wq85 and two XSS advisories before it
  devalue: '5.9.3', // CVE-2026-123561
  kysely: '0.28.17', // JSON path injection, CVE-2026-44635
};

interface Lock {
  readonly packages: Record<string, { readonly version?: string; readonly resolved?: string }>;
}
const lock = JSON.parse(readProjectFile('package-lock.json')) as Lock;

function isAtLeast(version: string, floor: string): boolean {
  const [a, b] = [version, floor].map((text) => text.split(/[.-]/).map(Number));
  for (let i = 0; i < 3; i++) {
    const difference = (a?.[i] ?? 0) - (b?.[i] ?? 0);
    if (difference !== 0) return difference > 0;
  }
  return true;
}

describe('security floors', () => {
  it.each(Object.entries(floors))(
    '%s is not below %s, wherever it stands in the tree',
    (name, floor) => {
      const versions = Object.entries(lock.packages)
        .filter(([path]) => path.endsWith(`node_modules/${name}`))
        .map(([, entry]) => entry.version ?? '0');
      expect(versions.length).toBeGreaterThan(0);
      expect(versions.filter((version) => !isAtLeast(version, floor))).toEqual([]);
    },
  );

  it('the lock file names no download address', () => {
    const addresses = Object.values(lock.packages)
      .map((entry) => entry.resolved ?? '')
      .filter((resolved) => resolved.includes('://'));
    expect(addresses).toEqual([]);
  });

  it('compares versions by number, not by letter', () => {
    expect(isAtLeast('10.1.0', '9.9.9')).toBe(true);
    expect(isAtLeast('4.2.5', '4.2.6')).toBe(false);
  });
});
