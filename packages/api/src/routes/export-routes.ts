import {
  AvailabilitySchema,
  ExportEstimateSchema,
  ExportListSchema,
  ExportSchema,
  NewExportSchema,
} from '@duskline/contract';
import type { Result } from '@duskline/domain';
import type { FastifyRequest } from 'fastify';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import type { ExportPort, ExportReader, ExportRefusal } from '../export-port.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { byteRange } from '../replies/byte-range.ts';

/** What is no JSON: bytes of these types. */
const bytes = (description: string, ...types: readonly string[]) => ({
  description,
  content: Object.fromEntries(
    types.map((type) => [type, { schema: { type: 'string', format: 'binary' } }]),
  ),
});
const fileTypes = ['application/zip', 'text/csv', 'application/x-ndjson'];

const params = Type.Object({
  id: Type.String({ pattern: '^[0-9]{1,9}$', description: 'Number of the export.' }),
});

/** Data for analysts: asked for, made in the background, fetched when it is there. */
export function exportRoutes(app: Door, { exports: port }: ApiDeps): void {
  if (port === undefined) return;
  askForExports(app, port);
  lookAtExports(app, port);
  fetchFile(app, port);
  availabilityRoutes(app, port);
}

function askForExports(app: Door, port: ExportPort): void {
  app.post(
    '/api/v1/exports/estimate',
    {
      config: { allow: 'export' },
      schema: {
        operationId: 'estimateExport',
        tags: ['data'],
        summary: 'How large an export will be, about',
        body: component(NewExportSchema),
        response: { 200: component(ExportEstimateSchema) },
      },
    },
    async (request) => granted(await port.estimate(request.body, readerOf(request))),
  );
  app.post(
    '/api/v1/exports',
    {
      config: { allow: 'export' },
      schema: {
        operationId: 'startExport',
        tags: ['data'],
        summary: 'Have an export made',
        description:
          'In the background, two at a time. Ask for it until its state is `done`, then fetch the file. The file behind one number never changes.',
        body: component(NewExportSchema),
        response: { 202: component(ExportSchema) },
      },
    },
    async (request, reply) => {
      const made = granted(await port.start(request.body, readerOf(request)));
      reply.code(202).header('location', `/api/v1/exports/${made.id}`);
      return made;
    },
  );
}

function lookAtExports(app: Door, port: ExportPort): void {
  app.get(
    '/api/v1/exports',
    {
      config: { allow: 'export' },
      schema: {
        operationId: 'exports',
        tags: ['data'],
        summary: 'My exports, the latest first',
        response: { 200: component(ExportListSchema) },
      },
    },
    async (request) => ({ exports: [...(await port.list(readerOf(request)))] }),
  );
  app.get(
    '/api/v1/exports/:id',
    {
      config: { allow: 'export' },
      schema: {
        operationId: 'export',
        tags: ['data'],
        summary: 'One export: how far it is, or what came of it',
        params,
        response: { 200: component(ExportSchema) },
      },
    },
    async (request) => granted(await port.find(Number(request.params.id), readerOf(request))),
  );
  app.delete(
    '/api/v1/exports/:id',
    {
      config: { allow: 'export' },
      schema: {
        operationId: 'removeExport',
        tags: ['data'],
        summary: 'Stop an export, and forget it with its file',
        params,
        response: { 204: Type.Null({ description: 'It is gone.' }) },
      },
    },
    async (request, reply) => {
      granted(await port.remove(Number(request.params.id), readerOf(request)));
      return reply.code(204).send(null);
    },
  );
}

function fetchFile(app: Door, port: ExportPort): void {
  app.get(
    '/api/v1/exports/:id/file',
    {
      // Length, ranges and digest are counted in the bytes of the file: nothing may pack them on the way.
      compress: false,
      config: { allow: 'export' },
      schema: {
        operationId: 'exportFile',
        tags: ['data'],
        summary: 'The file of an export',
        description:
          'With its length, and a tag that is its sha-256. A download that broke goes on with Range and If-Range.',
        params,
        response: {
          200: bytes('The whole file.', ...fileTypes),
          206: bytes('The bytes that were asked for; Content-Range says which.', ...fileTypes),
          304: Type.Null({ description: 'It is the file of the tag that was sent.' }),
          416: Type.Null({ description: 'The range begins behind the end of the file.' }),
        },
      },
    },
    async (request, reply) => {
      const file = granted(await port.file(Number(request.params.id), readerOf(request)));
      const tag = `"${file.sha256}"`;
      reply.headers({
        'cache-control': 'private, no-cache',
        etag: tag,
        'accept-ranges': 'bytes',
        'content-type': file.mediaType,
        'content-disposition': `attachment; filename="${file.fileName}"`,
        'repr-digest': `sha-256=:${Buffer.from(file.sha256, 'hex').toString('base64')}:`,
      });
      if (request.headers['if-none-match'] === tag) return reply.code(304).send(null);
      const range = byteRange(request.headers.range, {
        size: file.bytes,
        tag,
        ifRange: request.headers['if-range'] as string | undefined,
      });
      if (range.kind === 'outside')
        return reply.code(416).header('content-range', `bytes */${file.bytes}`).send(null);
      const [from, to] = range.kind === 'part' ? [range.from, range.to] : [0, file.bytes];
      if (range.kind === 'part')
        reply.code(206).header('content-range', `bytes ${from}-${to - 1}/${file.bytes}`);
      return reply.header('content-length', to - from).send(file.open(from, to));
    },
  );
}

const rangeQuery = Type.Object(
  {
    from: Type.String({ format: 'date-time', description: 'First instant.' }),
    to: Type.String({ format: 'date-time', description: 'First instant that is not in it.' }),
  },
  { additionalProperties: false },
);

function availabilityRoutes(app: Door, port: ExportPort): void {
  app.get(
    '/api/v1/availability',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'availability',
        tags: ['data'],
        summary: 'Where the time of every site went: the report for a funder',
        description:
          'Up, dark as designed, fault, link, clock, work, unknown: they add up to the whole.',
        querystring: rangeQuery,
        response: { 200: component(AvailabilitySchema) },
      },
    },
    async (request) => granted(await port.availability(request.query, readerOf(request))),
  );
  app.get(
    '/api/v1/availability.csv',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'availabilityCsv',
        tags: ['data'],
        summary: 'The same as CSV',
        querystring: rangeQuery,
        response: {
          200: bytes('A row for each site; the hours of a row are the whole.', 'text/csv'),
        },
      },
    },
    async (request, reply) => {
      const report = granted(await port.availability(request.query, readerOf(request)));
      reply.headers({
        'content-type': 'text/csv; charset=utf-8; header=present',
        'content-disposition': `attachment; filename="availability_${report.from.slice(0, 10)}_${report.to.slice(0, 10)}.csv"`,
      });
      return reply.send(port.availabilityCsv(report));
    },
  );
}

function readerOf(request: FastifyRequest): ExportReader {
  const { account, permissions } = principalOf(request);
  return {
    account,
    exactPositions: permissions.includes('change-nodes'),
    seesAll: permissions.includes('administer'),
  };
}

function granted<T>(result: Result<T, ExportRefusal>): T {
  if (result.ok) return result.value;
  const { code, detail, retryAfterS } = result.fault;
  throw new ApiProblem(
    code,
    detail,
    retryAfterS === undefined ? {} : { headers: { 'retry-after': String(retryAfterS) } },
  );
}
