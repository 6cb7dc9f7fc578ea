import {
  QuarantineQuerySchema,
  QuarantineSchema,
  ReplayOutcomeSchema,
  ReplaySchema,
  type QuarantineJson,
  type ReplayOutcomeJson,
} from '@duskline/contract';
import { parseNodeName, type NodeName } from '@duskline/domain';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import type { QuarantinePort } from '../quarantine-port.ts';

const PAGE = 100;
const UNKNOWN_SHOWN = 50;

type Entry = Awaited<ReturnType<QuarantinePort['list']>>[number];

export function quarantineRoutes(app: Door, deps: ApiDeps): void {
  const { quarantine, replayQuarantine } = deps;

  app.get(
    '/api/v1/quarantine',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'quarantine',
        tags: ['setup'],
        summary: 'Messages that could not be accepted, the latest first',
        description: `${PAGE} a page, each whole and with its reason; and how many of which kind wait.`,
        querystring: component(QuarantineQuerySchema),
        response: { 200: component(QuarantineSchema) },
      },
    },
    async (request, reply): Promise<QuarantineJson> => {
      const { takenIn = 'no', after, ...which } = request.query;
      const [entries, summary, unknown] = await Promise.all([
        quarantine.list(
          { ...filterOf(which), waiting: takenIn === 'no' },
          { limit: PAGE, ...placeAfter(after) },
        ),
        quarantine.summary(),
        quarantine.unknownNodes(UNKNOWN_SHOWN),
      ]);
      const next = entries.length < PAGE ? null : cursorOf(entries.at(-1));
      if (next !== null) {
        const query = new URLSearchParams({ ...which, takenIn, after: next });
        reply.header('link', `</api/v1/quarantine?${query.toString()}>; rel="next"`);
      }
      return {
        entries: entries.map(entryJson),
        next,
        kept: summary.kept,
        received: summary.received,
        overCap: summary.overCap,
        byCode: summary.byCode.map(({ code, kept, received }) => ({ code, kept, received })),
        byNode: summary.byNode.map(({ node, kept, received }) => ({
          node: node ?? null,
          kept,
          received,
        })),
        unknownNodes: unknown.map(({ name, firstSeenAtMs, lastSeenAtMs, times }) => ({
          name,
          firstSeenAt: instant(firstSeenAtMs),
          lastSeenAt: instant(lastSeenAtMs),
          times,
        })),
      };
    },
  );

  app.post(
    '/api/v1/quarantine/replay',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'replayQuarantine',
        tags: ['setup'],
        summary: 'Try again to take in what is in quarantine',
        description:
          'After a fix, or once its node was added: those named, those of a node, those of a reason, or all. Readings come in once, however often it is asked.',
        body: component(ReplaySchema),
        response: { 200: component(ReplayOutcomeSchema) },
      },
    },
    async (request): Promise<ReplayOutcomeJson> => {
      const { ids, ...which } = request.body;
      const { takenIn, alreadyThere, stillRefused, more } = await replayQuarantine({
        ...filterOf(which),
        ...(ids === undefined ? {} : { ids }),
      });
      return { takenIn, alreadyThere, stillRefused, more };
    },
  );
}

/** A name no node can have finds nothing, rather than everything. */
function filterOf({ node, code }: { readonly node?: string; readonly code?: string }) {
  return {
    ...(node === undefined ? {} : { node: parseNodeName(node) ?? ('' as NodeName) }),
    ...(code === undefined ? {} : { code }),
  };
}

const entryJson = (entry: Entry): QuarantineJson['entries'][number] => ({
  id: entry.id,
  firstReceivedAt: instant(entry.firstReceivedAtMs),
  receivedAt: instant(entry.receivedAtMs),
  topic: entry.topic,
  node: entry.node ?? null,
  code: entry.fault.code,
  reason: entry.fault.reason,
  payloadBase64: Buffer.from(entry.payload).toString('base64'),
  payloadBytes: entry.payload.byteLength,
  count: entry.count,
  takenInAt: entry.takenInAtMs === undefined ? null : instant(entry.takenInAtMs),
});

const cursorOf = (entry: Entry | undefined): string | null =>
  entry === undefined ? null : `${entry.receivedAtMs}.${entry.id}`;

/** A cursor that is none of ours begins from the start. */
function placeAfter(cursor: string | undefined) {
  const [, receivedAtMs, id] = /^(\d{1,15})\.([0-9a-f]{1,64})$/.exec(cursor ?? '') ?? [];
  return id === undefined ? {} : { after: { receivedAtMs: Number(receivedAtMs), id } };
}
