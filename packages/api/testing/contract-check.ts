import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';

type Json = Readonly<Record<string, unknown>>;

/** What came back from the API. */
export interface Answer {
  readonly statusCode: number;
  readonly headers: Readonly<Record<string, unknown>>;
  readonly body: string;
}

/** Says what is wrong with an answer by the document of the API; an empty list when nothing is. */
export type ContractCheck = (method: string, url: string, answer: Answer) => readonly string[];

/**
 * Checks answers against an OpenAPI document with a validator that is not ours, more strictly than the document is read
 * by clients: a key it does not name is a fault, so that nothing leaks by accident.
 */
export function contractCheck(document: Json): ContractCheck {
  const ajv = newAjv();
  ajv.addSchema({ ...(closed(document) as Json), $id: 'api' });
  const paths = Object.keys(document['paths'] as Json);
  const compiled = new Map<string, ValidateFunction>();

  return (method, url, answer) => {
    const path = paths.find((one) => pathPattern(one).test(url.split('?')[0] ?? ''));
    if (path === undefined) return answer.statusCode === 404 ? [] : [`${url} is not documented`];
    const verb = method.toLowerCase();
    const operation = ((document['paths'] as Json)[path] as Json)[verb] as Json | undefined;
    if (operation === undefined)
      return answer.statusCode === 404 ? [] : [`${method} ${path} is not documented`];
    const responses = operation['responses'] as Json;
    const status = [String(answer.statusCode), `${Math.floor(answer.statusCode / 100)}XX`].find(
      (one) => one in responses,
    );
    if (status === undefined)
      return answer.statusCode === 304 ? [] : [`${answer.statusCode} is not documented`];
    const content = (responses[status] as Json)['content'] as Json | undefined;
    if (content === undefined) return answer.body === '' ? [] : ['a body where none is documented'];
    const type = String(answer.headers['content-type']).split(';')[0] ?? '';
    if (!(type in content)) return [`the type ${type} is not documented`];

    const pointer = ['paths', path, verb, 'responses', status, 'content', type, 'schema']
      .map((part) => encodeURIComponent(part.replaceAll('~', '~0').replaceAll('/', '~1')))
      .join('/');
    const validate = compiled.get(pointer) ?? ajv.compile({ $ref: `api#/${pointer}` });
    compiled.set(pointer, validate);
    if (validate(/\bjson$/.test(type) ? JSON.parse(answer.body) : answer.body)) return [];
    return (validate.errors ?? []).map(
      ({ instancePath, message, params }) =>
        `${instancePath} ${message ?? ''} ${JSON.stringify(params)}`,
    );
  };
}

export function newAjv(): Ajv2020 {
  const ajv = new Ajv2020({ strict: false, allErrors: true });
  (addFormats as unknown as (instance: Ajv2020) => void)(ajv);
  // OpenAPI's own format for keys such as application/json; what they must be is said by the routes.
  ajv.addFormat('media-range', true);
  return ajv;
}

const pathPattern = (path: string): RegExp =>
  new RegExp(`^${path.replaceAll('.', '\\.').replaceAll(/\{[^}]+\}/g, '[^/]+')}$`);

/** Objects with named properties take no others; the answer of the document route itself is left open. */
function closed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(closed);
  if (typeof value !== 'object' || value === null) return value;
  const copy = Object.fromEntries(Object.entries(value).map(([key, one]) => [key, closed(one)]));
  return copy['type'] === 'object' && 'properties' in copy && !('additionalProperties' in copy)
    ? { ...copy, additionalProperties: false }
    : copy;
}
