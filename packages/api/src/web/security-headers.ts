import fastifyHelmet from '@fastify/helmet';
import type { Door } from '../door.ts';
import { OWN_POLICY } from './document-policy.ts';

/**
 * Headers that hold on every answer (OWASP ASVS 5.0, 3.4). By plain http those that need https are left out: browsers
 * would ignore them at best, and at worst look for the app where it is not.
 */
export async function securityHeaders(app: Door, { secure }: { secure: boolean }): Promise<void> {
  await app.register(fastifyHelmet, {
    contentSecurityPolicy: false,
    strictTransportSecurity: secure ? { maxAge: 31_536_000, includeSubDomains: false } : false,
    crossOriginOpenerPolicy: secure ? { policy: 'same-origin' } : false,
    originAgentCluster: secure,
    referrerPolicy: { policy: 'same-origin' },
    xFrameOptions: { action: 'deny' },
  });
  app.addHook('onRequest', async (_request, reply) => {
    reply.header('content-security-policy', OWN_POLICY);
  });
}
