import * as contract from '@duskline/contract';
import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { contractCheck, newAjv } from '../../testing/contract-check.ts';
import { everyPort } from '../../testing/every-port.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import { examples } from './examples.ts';

/**
 * The OpenAPI Initiative's own schema of OpenAPI 3.1 documents, dated 2022-10-07 (Apache 2.0), as the Python package
 * openapi-spec-validator 0.9.0 carries it.
 */
const schemaFile = new URL('../../testing/openapi-3-1-schema.json', import.meta.url);
// Its dynamic reference to "the dialect of schemas" is what it says beside: $defs/schema. Ajv 8 takes it for the schema
// around it, so it is written out; the dialect itself is checked by a test of its own below.
const openApiSchema = JSON.parse(
  readFileSync(schemaFile, 'utf8').replaceAll('"$dynamicRef": "#meta"', '"$ref": "#/$defs/schema"'),
) as object;

interface Operation {
  readonly operationId?: string;
  readonly summary?: string;
  readonly security?: readonly object[];
  readonly parameters?: readonly { readonly name: string; readonly in: string }[];
}

interface Request {
  readonly parameters?: readonly object[];
  readonly requestBody?: { readonly content: Readonly<Record<string, object>> };
}

describe('the document of the API', () => {
  let api: OpenApi;
  let operations: readonly (readonly [string, Operation])[];
  beforeAll(async () => {
    api = await openApi(everyPort);
    operations = Object.entries(
      api.document['paths'] as Record<string, Record<string, Operation>>,
    ).flatMap(([path, verbs]) =>
      Object.entries(verbs).map(([verb, operation]) => [`${verb} ${path}`, operation] as const),
    );
  }, 60_000);

  it('is an OpenAPI 3.1 document by the schema of its makers', () => {
    const validate = newAjv().compile(openApiSchema);
    validate(api.document);
    expect(validate.errors).toBeNull();
  });

  it('would be found out if it were not', () => {
    const validate = newAjv().compile(openApiSchema);
    expect(validate({ ...api.document, info: { title: 'no version' } })).toBe(false);
    const [path] = Object.keys(api.document['paths'] as object);
    expect(
      validate({ ...api.document, paths: { [path ?? '']: { get: { responses: { 200: {} } } } } }),
    ).toBe(false);
  });

  it('has no schema of a request that cannot be compiled: the door compiles each only when it is needed', () => {
    const ajv = newAjv();
    ajv.addSchema({ ...api.document, $id: 'api' });
    let compiled = 0;
    for (const [path, verbs] of Object.entries(api.document['paths'] as object))
      for (const [verb, operation] of Object.entries(verbs as Record<string, Request>)) {
        const at = ['paths', path, verb];
        const schemas = [
          ...(operation.parameters ?? []).map((_, i) => [...at, 'parameters', String(i)]),
          ...Object.keys(operation.requestBody?.content ?? {}).map((type) => [
            ...at,
            'requestBody',
            'content',
            type,
          ]),
        ];
        for (const words of schemas) {
          const pointer = [...words, 'schema']
            .map((word) => encodeURIComponent(word.replaceAll('~', '~0').replaceAll('/', '~1')))
            .join('/');
          expect(() => ajv.compile({ $ref: `api#/${pointer}` }), pointer).not.toThrow();
          compiled += 1;
        }
      }
    expect(compiled).toBeGreaterThan(150);
  });

  it('writes its schemas in the dialect OpenAPI 3.1 names, JSON Schema 2020-12', () => {
    const ajv = newAjv();
    const schemas = (api.document['components'] as { schemas: Record<string, object> }).schemas;
    for (const [name, schema] of Object.entries(schemas))
      expect([name, ajv.validateSchema(schema), ajv.errors]).toEqual([name, true, null]);
  });

  it('refers to nothing that is not there', () => {
    const text = JSON.stringify(api.document);
    const targets = [...text.matchAll(/"\$ref":"#\/components\/schemas\/([^"]+)"/g)];
    expect(targets.length).toBeGreaterThan(20);
    const schemas = (api.document['components'] as { schemas: object }).schemas;
    expect(targets.map(([, name]) => name).filter((name) => !(String(name) in schemas))).toEqual(
      [],
    );
    expect(text).not.toContain('def-0');
  });

  it('has every named shape of the contract', () => {
    const names = Object.entries(contract as Record<string, unknown>)
      .filter(([key]) => key.endsWith('Schema'))
      .map(([, schema]) => (schema as { $id: string }).$id)
      .sort();
    const schemas = (api.document['components'] as { schemas: object }).schemas;
    expect(Object.keys(schemas).sort()).toEqual(names);
  });

  it('names and sums up every operation, each once', () => {
    const ids = operations.map(([, { operationId }]) => operationId);
    expect(new Set(ids).size).toBe(operations.length);
    for (const [where, operation] of operations)
      expect([where, operation.summary?.length ?? 0]).toEqual([where, expect.any(Number)]);
    expect(operations.filter(([, { summary }]) => (summary ?? '') === '')).toEqual([]);
  });

  it('declares every part of every path', () => {
    for (const [where, { parameters = [] }] of operations) {
      const inPath = [...where.matchAll(/\{([^}]+)\}/g)].map(([, name]) => name);
      expect([
        where,
        parameters.filter((one) => one.in === 'path').map(({ name }) => name),
      ]).toEqual([where, inPath]);
    }
  });

  it('shows examples that are what they are examples of', () => {
    const schemas = (api.document['components'] as { schemas: Record<string, object> }).schemas;
    const ajv = newAjv();
    ajv.addSchema({ ...api.document, $id: 'api' });
    for (const [name, list] of Object.entries(examples)) {
      expect(schemas[name]).toMatchObject({ examples: list });
      const validate = ajv.compile({ $ref: `api#/components/schemas/${name}` });
      for (const example of list)
        expect([name, validate(example), validate.errors]).toEqual([name, true, null]);
    }
  });

  it('says of each operation who may use it', () => {
    const open = operations.filter(([, { security }]) => security?.length === 0);
    expect(open.map(([where]) => where).sort()).toEqual([
      'delete /api/v1/session',
      'get /api/v1/alert-links/{token}',
      'get /api/v1/calendars/{file}',
      'get /api/v1/invitations/open/{token}',
      'get /api/v1/openapi.json',
      'get /api/v1/problems/{code}',
      'get /healthz',
      'get /readyz',
      'post /api/v1/alert-links/{token}',
      'post /api/v1/invitations/open/{token}',
      'post /api/v1/session',
    ]);
    expect(operations.filter(([, { security }]) => security === undefined)).toEqual([]);
  });

  it('is what every other test holds answers against, and that check can fail', () => {
    const check = contractCheck(api.document);
    const answer = (body: object, statusCode = 200) => ({
      statusCode,
      headers: { 'content-type': 'application/json; charset=utf-8' },
      body: JSON.stringify(body),
    });
    expect(check('GET', '/healthz', answer({ status: 'ok' }))).toEqual([]);
    expect(check('GET', '/healthz', answer({ status: 'fine' }))).toHaveLength(1);
    expect(check('GET', '/healthz', answer({ status: 'ok', secret: 1 }))).toHaveLength(1);
    expect(check('GET', '/healthz', answer({ status: 'ok' }, 418))).toHaveLength(1);
    expect(check('GET', '/nowhere', answer({}))).toHaveLength(1);
  });
});
