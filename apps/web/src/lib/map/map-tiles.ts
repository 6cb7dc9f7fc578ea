import type { GeoProjection } from 'd3-geo';

export interface MapTile {
  readonly address: string;
  readonly x: number;
  readonly y: number;
  /** Length of a side, px. */
  readonly sizePx: number;
}

const TILE_PX = 256;
const CLOSEST = 18;

/**
 * The squares of a map in Web Mercator that cover a frame: the projection is the same, so they only have to be placed.
 *
 * @param template with {z}, {x} and {y}: z is the zoom, x counts from the 180th meridian eastward, y from 85.0511° N southward
 * @source the numbering is that of OGC 17-083r4 annex D.1 (WebMercatorQuad)
 */
export function mapTiles(
  projection: GeoProjection,
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
  template: string,
): readonly MapTile[] {
  const worldPx = projection.scale() * 2 * Math.PI;
  const zoom = Math.min(CLOSEST, Math.max(0, Math.round(Math.log2(worldPx / TILE_PX))));
  const count = 2 ** zoom;
  const sizePx = worldPx / count;
  const [middleX, middleY] = projection([0, 0]) ?? [0, 0];
  const left = middleX - worldPx / 2;
  const top = middleY - worldPx / 2;
  const tiles: MapTile[] = [];
  const last = (edge: number, start: number): number => Math.ceil((edge - start) / sizePx) - 1;
  for (
    let y = Math.max(0, Math.floor(-top / sizePx));
    y <= Math.min(count - 1, last(heightPx, top));
    y++
  )
    for (let x = Math.floor(-left / sizePx); x <= last(widthPx, left); x++) {
      const around = ((x % count) + count) % count;
      const address = template
        .replace('{z}', String(zoom))
        .replace('{x}', String(around))
        .replace('{y}', String(y));
      tiles.push({ address, x: left + x * sizePx, y: top + y * sizePx, sizePx });
    }
  return tiles;
}
