import type { StaDesk } from './sta-desk.ts';
import type { StaEntity, StaSet } from './sta-entity.ts';
import { findObservation } from './sta-observations.ts';
import type { StaStep } from './sta-path.ts';
import { noEntity } from './sta-refusal.ts';
import { streamsOf } from './sta-streams.ts';

/** Where a path has come to: one entity, or a set of them. */
export type Place =
  | { readonly kind: 'entity'; readonly entity: StaEntity }
  | { readonly kind: 'set'; readonly set: StaSet; readonly of?: StaEntity; readonly name?: string };

export type SetPlace = Extract<Place, { readonly kind: 'set' }>;

/**
 * Goes along a path.
 *
 * @throws ApiProblem 404 where it leads nowhere
 */
export async function placeOf(desk: StaDesk, steps: readonly StaStep[]): Promise<Place> {
  let place: Place | undefined;
  for (const step of steps) {
    if (step.kind === 'property') throw noEntity(step.name);
    if (place?.kind === 'set') throw noEntity(step.kind === 'relation' ? step.name : step.set);
    place =
      step.kind === 'set' || place === undefined
        ? await placeInSet(desk, step.set, step.id)
        : await placeAfter(desk, place.entity, step);
  }
  if (place === undefined) throw noEntity('entity');
  return place;
}

async function placeInSet(desk: StaDesk, set: StaSet, id: string | undefined): Promise<Place> {
  if (id === undefined) return { kind: 'set', set };
  const found = await desk.source.find(set, id);
  const entity =
    set === 'Observations' && found !== undefined
      ? await findObservation(desk.deps, found, id)
      : found;
  if (entity === undefined) throw noEntity(`${set}('${id}')`);
  return { kind: 'entity', entity };
}

async function placeAfter(
  desk: StaDesk,
  of: StaEntity,
  { name, set, many, id }: Extract<StaStep, { readonly kind: 'relation' }>,
): Promise<Place> {
  if (many && id === undefined) return { kind: 'set', set, of, name };
  if (set === 'Observations') {
    const place = await placeInSet(desk, set, id);
    const belongs = (await streamsOf(desk, of)).some(
      (one) => place.kind === 'entity' && place.entity.id.startsWith(`${one.id}:`),
    );
    if (!belongs) throw noEntity(`${name}('${id ?? ''}')`);
    return place;
  }
  const found = (await desk.source.related(of, name)).find((one) => !many || one.id === id);
  if (found === undefined) throw noEntity(many ? `${name}('${id ?? ''}')` : name);
  return { kind: 'entity', entity: found };
}
