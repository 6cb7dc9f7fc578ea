import { geoMercator } from 'd3-geo';
import { describe, expect, it } from 'vitest';
import { mapTiles } from './map-tiles.ts';

const template = 'https://tiles.example.org/{z}/{x}/{y}.png';

/**
 * Tile of a place by the formula of OGC 17-083r4 annex D.1 written out for the sphere: x = n·(lon+180)/360,
 * y = n·(1 − asinh(tan lat)/π)/2.
 */
const tileOf = (zoom: number, latDeg: number, lonDeg: number): string => {
  const n = 2 ** zoom;
  const y = (n * (1 - Math.asinh(Math.tan((latDeg * Math.PI) / 180)) / Math.PI)) / 2;
  return `https://tiles.example.org/${zoom}/${Math.floor((n * (lonDeg + 180)) / 360)}/${Math.floor(y)}.png`;
};

describe('squares of a map', () => {
  it('cover the frame, and the one under a place is the one its numbers say', () => {
    const size = { widthPx: 800, heightPx: 500 };
    // 256 px × 2^11 round the world.
    const projection = geoMercator()
      .scale((256 * 2 ** 11) / (2 * Math.PI))
      .center([-2.8, 54.95])
      .translate([400, 250]);
    const tiles = mapTiles(projection, size, template);
    expect(tiles.every(({ sizePx }) => Math.abs(sizePx - 256) < 1e-6)).toBe(true);
    const under = (x: number, y: number) =>
      tiles.find(
        (one) => x >= one.x && x < one.x + one.sizePx && y >= one.y && y < one.y + one.sizePx,
      );
    for (const [x, y] of [
      [0, 0],
      [799, 0],
      [0, 499],
      [799, 499],
      [400, 250],
    ] as const) {
      const [lon, lat] = projection.invert?.([x + 0.5, y + 0.5]) ?? [0, 0];
      expect(under(x + 0.5, y + 0.5)?.address).toBe(tileOf(11, lat, lon));
    }
    expect(tiles.length).toBeLessThanOrEqual(5 * 3);
  });

  it('go on across the 180th meridian', () => {
    const projection = geoMercator()
      .scale((256 * 2 ** 5) / (2 * Math.PI))
      .center([179.9, -17])
      .translate([300, 200]);
    const addresses = mapTiles(projection, { widthPx: 600, heightPx: 400 }, template).map(
      ({ address }) => address,
    );
    expect(addresses.some((address) => address.includes('/5/31/'))).toBe(true);
    expect(addresses.some((address) => address.includes('/5/0/'))).toBe(true);
  });
});
