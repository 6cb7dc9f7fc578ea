import { neighbourTest } from './tests/neighbour.ts';

/** What one node read on the average of some time, and where. */
export interface PlacedMean {
  readonly nodeId: number;
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  /** Metres above the sea. */
  readonly elevationM: number;
  /** In the unit of the metric. */
  readonly value: number;
}

export interface NeighbourFinding {
  readonly nodeId: number;
  readonly flag: 3 | 4;
  /** From the median of the neighbours, in the unit of the metric. */
  readonly distance: number;
  readonly limit: number;
  readonly neighbours: number;
}

/** Neighbours are near enough for the same weather: our choice, wide enough for a scattered fleet. */
export const NEIGHBOUR_KM = 50;
/** Air cools by 6.5 K a kilometre (ISO 2533, standard atmosphere): two degrees between neighbours at most. */
export const NEIGHBOUR_M = 300;

/**
 * Holds what each node read against the median of its neighbours: of nodes within 50 km and 300 m of height.
 *
 * @param means    one for each node, all of one metric and the same time
 * @param limitsOf of the neighbour test; undefined: not tested
 * @returns those that lie too far off; a node with fewer than three neighbours is not tested
 */
export function compareWithNeighbours(
  means: readonly PlacedMean[],
  limitsOf: (nodeId: number) => { readonly suspect: number } | undefined,
): readonly NeighbourFinding[] {
  return means.flatMap((mean): NeighbourFinding[] => {
    const limits = limitsOf(mean.nodeId);
    if (limits === undefined) return [];
    const others = means.filter((other) => other.nodeId !== mean.nodeId && isNear(mean, other));
    const { flag, found, limit } = neighbourTest(
      mean.value,
      others.map(({ value }) => value),
      limits,
    );
    if ((flag !== 3 && flag !== 4) || found === undefined || limit === undefined) return [];
    return [{ nodeId: mean.nodeId, flag, distance: found, limit, neighbours: others.length }];
  });
}

const EARTH_KM = 6371;
const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Great-circle distance by the haversine (R. W. Sinnott, Sky and Telescope 68, 1984, page 159). */
function isNear(a: PlacedMean, b: PlacedMean): boolean {
  if (Math.abs(a.elevationM - b.elevationM) > NEIGHBOUR_M) return false;
  const half = (degrees: number): number => Math.sin(radians(degrees) / 2) ** 2;
  const h =
    half(b.latitudeDeg - a.latitudeDeg) +
    Math.cos(radians(a.latitudeDeg)) *
      Math.cos(radians(b.latitudeDeg)) *
      half(b.longitudeDeg - a.longitudeDeg);
  return 2 * EARTH_KM * Math.asin(Math.min(1, Math.sqrt(h))) <= NEIGHBOUR_KM;
}
