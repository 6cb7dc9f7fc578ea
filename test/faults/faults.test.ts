import { describe, expect, it } from 'vitest';
import type { SharedPostgres } from './lab.ts';
import { testRunServer, whyNoMosquitto } from '@duskline/test-harness';
import { killIngest } from './experiments/e01-kill-ingest.ts';
import { inLab } from './lab.ts';

// A taste of `npm run faults` (see README.md), so that the ordinary tests notice a reading lost to a kill. Whoever runs all
// experiments anyway sets DUSKLINE_FAULTS_APART, so that none is run twice.
const apart = process.env['DUSKLINE_FAULTS_APART'] === '1';
if (apart)
  console.warn('SKIPPED here: DUSKLINE_FAULTS_APART says that npm run faults is run as well.');

const noMosquitto = await whyNoMosquitto();
if (noMosquitto !== undefined) console.warn(`SKIPPED against Mosquitto: ${noMosquitto}`);
const shared = async (): Promise<SharedPostgres> => ({
  ...(await testRunServer()),
  stop: () => Promise.resolve(),
});
const seed = Number(process.env['DUSKLINE_FAULT_SEED'] ?? 20_261_126);
const options = { full: false, seed, shared, say: (text: string) => console.log(text) };

describe.skipIf(apart)('a server killed at random moments and at chosen points under load', () => {
  it('loses and doubles nothing on the embedded broker', async () => {
    const { figures } = await inLab(options, (lab) => killIngest.run(lab, 'embedded'));
    console.log(JSON.stringify(figures));
    expect(figures).toMatchObject({ lost: 0, doubled: 0, phantom: 0, ahead: 0 });
    expect(figures['stored']).toBe(figures['published']);
    expect(figures['published']).toBeGreaterThan(1000);
  });

  it.skipIf(noMosquitto !== undefined)('loses and doubles nothing behind Mosquitto', async () => {
    const { figures } = await inLab(options, (lab) => killIngest.run(lab, 'mosquitto'));
    console.log(JSON.stringify(figures));
    expect(figures).toMatchObject({ lost: 0, doubled: 0, phantom: 0, ahead: 0 });
    expect(figures['stored']).toBe(figures['published']);
    expect(figures['published']).toBeGreaterThan(1000);
  });
});
