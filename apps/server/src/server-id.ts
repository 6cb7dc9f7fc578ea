import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { randomBytes } from 'node:crypto';
import { join } from 'node:path';

/** The name of this server among others, made at its first start and kept in its data folder. */
export function serverId(dataDir: string): string {
  const path = join(dataDir, 'server-id');
  if (!existsSync(path)) writeFileSync(path, randomBytes(9).toString('hex'), { mode: 0o600 });
  return readFileSync(path, 'utf8').trim();
}
