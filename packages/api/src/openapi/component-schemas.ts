import * as contract from '@duskline/contract';
import type { TSchema } from 'typebox';
import { examples } from './examples.ts';

/** A JSON Schema as data. */
export type JsonSchema = Readonly<Record<string, unknown>>;

interface NamedSchema extends JsonSchema {
  readonly $id: string;
}

const isNamed = (schema: unknown): schema is NamedSchema =>
  typeof schema === 'object' &&
  schema !== null &&
  '$id' in schema &&
  typeof schema.$id === 'string';

/** Every schema of the contract that has a name: what the API's document calls its components. */
const named = Object.values(contract as Readonly<Record<string, unknown>>).filter(isNamed);

/**
 * The contract's schemas as components: each stands once and the others refer to it by name, as OpenAPI wants it.
 * The validator, too, wants every name to be given once only.
 */
export const componentSchemas = (): readonly NamedSchema[] =>
  named.map((schema) => ({
    ...(inner(schema, schema) as NamedSchema),
    ...(examples[schema.$id] === undefined ? {} : { examples: examples[schema.$id] }),
  }));

/** One component, for a route to refer to, with its type. */
export function component<T extends TSchema>(schema: T): T {
  if (!isNamed(schema)) throw new Error('component: the schema has no $id');
  return { $ref: `${schema.$id}#` } as unknown as T;
}

/** A copy in which named schemas are references, and tuples are written as JSON Schema 2020-12 has them. */
function inner(value: unknown, root: unknown): unknown {
  if (Array.isArray(value)) return value.map((one) => inner(one, root));
  if (typeof value !== 'object' || value === null) return value;
  if (value !== root && isNamed(value)) return { $ref: `${value.$id}#` };
  const copy = Object.fromEntries(
    Object.entries(value).map(([key, one]) => [key, inner(one, root)]),
  );
  if (!Array.isArray(copy['items'])) return copy;
  const { items, ...rest } = copy;
  delete rest['additionalItems'];
  const [first, ...others] = items as readonly unknown[];
  const alike = others.every((one) => JSON.stringify(one) === JSON.stringify(first));
  // Places that are all alike can be said so that the validator of bodies, which knows only draft 7, understands it too.
  if (alike) return { ...rest, items: first, minItems: items.length, maxItems: items.length };
  return { ...rest, prefixItems: items, items: false };
}
