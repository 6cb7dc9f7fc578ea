import { describe, expect, it } from 'vitest';
import { degreeText, mapFrame, roundBelow } from './map-frame.ts';

const size = { widthPx: 1000, heightPx: 600 };
const carlisle = { latitudeDeg: 54.895, longitudeDeg: -2.934 };
const newcastle = { latitudeDeg: 54.978, longitudeDeg: -1.614 };

describe('the frame of a map', () => {
  it('holds all sites, north up and east right', () => {
    const { projection } = mapFrame([carlisle, newcastle], size);
    const [x1 = 0, y1 = 0] = projection([carlisle.longitudeDeg, carlisle.latitudeDeg]) ?? [];
    const [x2 = 0, y2 = 0] = projection([newcastle.longitudeDeg, newcastle.latitudeDeg]) ?? [];
    expect(x1).toBeGreaterThan(0);
    expect(x2).toBeLessThan(size.widthPx);
    expect(x2).toBeGreaterThan(x1);
    expect(y2).toBeLessThan(y1);
  });

  it('has a scale bar of the right length', () => {
    const { projection, scale } = mapFrame([carlisle, newcastle], size);
    const [x1 = 0, y1 = 0] = projection([carlisle.longitudeDeg, carlisle.latitudeDeg]) ?? [];
    const [x2 = 0, y2 = 0] = projection([newcastle.longitudeDeg, newcastle.latitudeDeg]) ?? [];
    // 84.9 km by the haversine formula on a sphere of 6371 km, worked by hand.
    const km = (Math.hypot(x2 - x1, y2 - y1) / scale.px) * scale.km;
    expect(km).toBeGreaterThan(84);
    expect(km).toBeLessThan(86);
  });

  it('draws one site as a piece of land, not as a point without size', () => {
    const { scale, meridians } = mapFrame([carlisle], size);
    expect(scale.km).toBeGreaterThan(0.2);
    expect(scale.km).toBeLessThan(5);
    expect(meridians.length).toBeGreaterThan(1);
  });

  it('labels the grid by hemisphere with the decimals its step needs', () => {
    expect(degreeText(-2.5, 'longitude', 0.5)).toBe('2.5° W');
    expect(degreeText(-33, 'latitude', 1)).toBe('33° S');
    expect(degreeText(54.25, 'latitude', 0.05)).toBe('54.25° N');
    expect([0.9, 3, 7, 20].map(roundBelow)).toEqual([0.5, 2, 5, 20]);
  });
});
