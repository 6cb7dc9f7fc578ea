import { cpSync, existsSync, renameSync } from 'node:fs';
import { join } from 'node:path';
import { freePort } from '@duskline/test-harness';
import { inject } from 'vitest';
import { startDemo, type DemoProcess } from './demo-process.ts';

/**
 * A demo in a folder and on ports of its own, as one is that was ready a moment ago: a fleet's past is sent and worked through
 * once for all files, and each goes on with a copy.
 */
export async function startReadyDemo(folder: string): Promise<DemoProcess> {
  const template = join(inject('demoTemplate'), 'data');
  const env = async (dataDir: string) => ({
    DUSKLINE_DATA_DIR: dataDir,
    DUSKLINE_HTTP_PORT: String(await freePort()),
    DUSKLINE_MQTT_PORT: String(await freePort()),
  });
  if (!existsSync(template)) {
    const unfinished = `${template}-unfinished`;
    const demo = await startDemo(await env(unfinished));
    await demo.interrupt();
    renameSync(unfinished, template);
  }
  cpSync(template, folder, { recursive: true });
  return startDemo(await env(folder));
}
