import { QuarantineSchema } from '@duskline/contract';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';

const SHOWN = 200;

export function quarantineRoutes(app: Door, { quarantine }: ApiDeps): void {
  app.get(
    '/api/v1/quarantine',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'quarantine',
        tags: ['setup'],
        summary: 'Messages that could not be accepted, the latest first',
        description: `The last ${SHOWN}, each whole and with its reason.`,
        response: { 200: component(QuarantineSchema) },
      },
    },
    async () => ({
      entries: (await quarantine.recent(SHOWN)).map((entry) => ({
        id: entry.id,
        receivedAt: instant(entry.receivedAtMs),
        topic: entry.topic,
        node: entry.node ?? null,
        code: entry.fault.code,
        reason: entry.fault.reason,
        payloadBase64: Buffer.from(entry.payload).toString('base64'),
        payloadBytes: entry.payload.byteLength,
        count: entry.count,
      })),
    }),
  );
}
