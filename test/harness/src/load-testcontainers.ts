import type * as Testcontainers from 'testcontainers';

/**
 * Loads testcontainers, set up for an engine on this machine that may be without a way to any image registry: no image
 * besides the ones named by us is pulled, and published ports are on the loopback address.
 */
export async function loadTestcontainers(): Promise<typeof Testcontainers> {
  process.env['TESTCONTAINERS_RYUK_DISABLED'] ??= 'true';
  process.env['TESTCONTAINERS_HOST_OVERRIDE'] ??= '127.0.0.1';
  return await import('testcontainers');
}
