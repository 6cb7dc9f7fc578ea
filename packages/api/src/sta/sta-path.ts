import { relationOf, staSetOf, type StaSet } from './sta-entity.ts';
import { noEntity } from './sta-refusal.ts';

/** One step of a resource path, from the set or entity before it. */
export type StaStep =
  | { readonly kind: 'set'; readonly set: StaSet; readonly id?: string }
  | {
      readonly kind: 'relation';
      readonly name: string;
      readonly set: StaSet;
      readonly many: boolean;
      readonly id?: string;
    }
  | { readonly kind: 'property'; readonly name: string };

export interface StaPath {
  readonly steps: readonly StaStep[];
  readonly ending?: '$value' | '$ref';
}

/**
 * Reads a resource path. @source OGC 15-078r6 §9.2
 *
 * @param segments without the root of the service, decoded
 * @throws ApiProblem 404 where it leads nowhere
 */
export function readPath(segments: readonly string[]): StaPath {
  const last = segments.at(-1);
  const ending = last === '$value' || last === '$ref' ? last : undefined;
  const names = ending === undefined ? segments : segments.slice(0, -1);
  const steps: StaStep[] = [];
  for (const segment of names) steps.push(stepOf(segment, steps.at(-1)));
  const end = steps.at(-1);
  if (ending === '$value' && end?.kind !== 'property') throw noEntity('value');
  if (ending === '$ref' && (end === undefined || end.kind === 'property' || end.id !== undefined))
    throw noEntity('reference');
  return { steps, ...(ending === undefined ? {} : { ending }) };
}

function stepOf(segment: string, before: StaStep | undefined): StaStep {
  const found = /^([A-Za-z@.]+)(?:\((?:'((?:[^']|'')*)'|([^'()]+))\))?$/.exec(segment);
  const name = found?.[1];
  if (name === undefined) throw noEntity(segment);
  const id = found?.[2]?.replaceAll("''", "'") ?? found?.[3];
  const withId = id === undefined ? {} : { id };
  if (before === undefined) {
    const set = staSetOf(name);
    if (set === undefined) throw noEntity(`entity set ${name}`);
    return { kind: 'set', set, ...withId };
  }
  if (before.kind === 'property') throw noEntity(segment);
  const isOne = before.id !== undefined || (before.kind === 'relation' && !before.many);
  if (!isOne) throw noEntity(`${name} of a whole set`);
  const relation = relationOf(before.set, name);
  if (relation === undefined) {
    if (id !== undefined) throw noEntity(segment);
    return { kind: 'property', name };
  }
  if (id !== undefined && !relation.many) throw noEntity(segment);
  return { kind: 'relation', name, ...relation, ...withId };
}
