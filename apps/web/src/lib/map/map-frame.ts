import { geoMercator, type GeoProjection } from 'd3-geo';

/** A place on the map, degrees. */
export interface MapPlace {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
}

export interface MapFrame {
  readonly projection: GeoProjection;
  /** Degrees between two lines of the grid. */
  readonly gridStepDeg: number;
  /** Lines of the grid that cross the frame: degrees and place, px. */
  readonly meridians: readonly { readonly deg: number; readonly x: number }[];
  readonly parallels: readonly { readonly deg: number; readonly y: number }[];
  readonly scale: { readonly km: number; readonly px: number };
}

/** Room around the outermost sites, px: half a name is written there. */
const PADDING_PX = 60;
/** A fleet in one meadow is not drawn larger than this. */
const LEAST_SPAN_DEG = 0.02;
/** Mean length of a degree of latitude: 10,000 km from pole to equator by the metre's first definition, over 90. */
const KM_A_DEG = 10_000 / 90;
const GRID_LINES = 5;
const SCALE_SHARE = 0.25;

/** 1, 2 or 5 times a power of ten, at most the value. */
export function roundBelow(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return [5, 2, 1].map((lead) => lead * power).find((one) => one <= value * 1.000_001) ?? power;
}

/** A map of a fixed size that holds all places, north up (Mercator, so that shapes of small regions stay true). */
export function mapFrame(
  places: readonly MapPlace[],
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
): MapFrame {
  const lats = places.map((place) => place.latitudeDeg);
  const lons = places.map((place) => place.longitudeDeg);
  const grow = (low: number, high: number): readonly [number, number] => {
    const lack = Math.max(0, LEAST_SPAN_DEG - (high - low)) / 2;
    return [low - lack, high + lack];
  };
  const [south, north] = grow(Math.min(...lats), Math.max(...lats));
  const [west, east] = grow(Math.min(...lons), Math.max(...lons));
  const padding = Math.min(PADDING_PX, widthPx / 5, heightPx / 5);
  const projection = geoMercator().fitExtent(
    [
      [padding, padding],
      [widthPx - padding, heightPx - padding],
    ],
    {
      type: 'MultiPoint',
      coordinates: [
        [west, south],
        [east, north],
      ],
    },
  );
  projection.clipExtent([
    [0, 0],
    [widthPx, heightPx],
  ]);
  const [left, top] = projection.invert?.([0, 0]) ?? [west, north];
  const [right, bottom] = projection.invert?.([widthPx, heightPx]) ?? [east, south];
  const gridStepDeg = roundBelow(Math.max(right - left, top - bottom) / (GRID_LINES - 1));
  const xOf = (deg: number): number => projection([deg, (top + bottom) / 2])?.[0] ?? 0;
  const yOf = (deg: number): number => projection([(left + right) / 2, deg])?.[1] ?? 0;
  const middleLat = (top + bottom) / 2;
  const kmAcross = (right - left) * KM_A_DEG * Math.cos((middleLat * Math.PI) / 180);
  const km = roundBelow(kmAcross * SCALE_SHARE);
  return {
    projection,
    gridStepDeg,
    meridians: steps(left, right, gridStepDeg).map((deg) => ({ deg, x: xOf(deg) })),
    parallels: steps(bottom, top, gridStepDeg).map((deg) => ({ deg, y: yOf(deg) })),
    scale: { km, px: (km / kmAcross) * widthPx },
  };
}

function steps(from: number, to: number, step: number): readonly number[] {
  const found: number[] = [];
  for (let i = Math.ceil(from / step); i * step <= to; i += 1) found.push(i * step);
  return found;
}

/** "54.25° N", with as many decimals as the grid has. */
export function degreeText(deg: number, axis: 'latitude' | 'longitude', stepDeg: number): string {
  const decimals = Math.max(0, -Math.floor(Math.log10(stepDeg) + 1e-9));
  const letter = axis === 'latitude' ? (deg < 0 ? 'S' : 'N') : deg < 0 ? 'W' : 'E';
  return `${Math.abs(deg).toFixed(decimals)}° ${letter}`;
}
