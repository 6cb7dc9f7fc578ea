import { describe, expect, it } from 'vitest';
import { placeNames, type MarkToName } from './place-names.ts';

const phone = { widthPx: 360, heightPx: 380 };
const mark = (id: string, x: number, y: number, namePx = 80): MarkToName => ({ id, x, y, namePx });

describe('names on a map', () => {
  it('are both there for two sites at one place, one under the other', () => {
    const [bench, sluice] = placeNames([mark('bench', 100, 100), mark('sluice', 100, 100)], phone);
    expect([bench?.name, sluice?.name]).toEqual([
      { side: 'right', dropPx: 0 },
      { side: 'right', dropPx: 0 },
    ]);
    // Two lines of 24 px, their middle on the place.
    expect([bench?.y, sluice?.y]).toEqual([88, 112]);
    expect([bench?.x, sluice?.x]).toEqual([100, 100]);
  });

  it('change side, or give way a little, before one is left out', () => {
    const [edge] = placeNames([mark('edge', 340, 200)], phone);
    expect(edge?.name).toEqual({ side: 'left', dropPx: 0 });
    // The first name takes 112 to 192 px; the second has no room to the right, and would lie over it to the left.
    const [first, second] = placeNames([mark('a', 100, 100), mark('b', 280, 112, 100)], phone);
    expect(first?.name).toEqual({ side: 'right', dropPx: 0 });
    expect(second?.name).toEqual({ side: 'left', dropPx: 15 });
  });

  it('never lie over each other or leave the map, and every mark stays', () => {
    const crowd = Array.from({ length: 40 }, (_, i) =>
      mark(`m${i}`, 20 + ((i * 67) % 320), 20 + ((i * 41) % 340), 70 + (i % 5) * 12),
    );
    const placed = placeNames(crowd, phone);
    expect(placed.map(({ id }) => id)).toEqual(crowd.map(({ id }) => id));
    const boxes = placed.flatMap(({ name, x, y }, i) => {
      if (name === undefined) return [];
      const namePx = crowd[i]?.namePx ?? 0;
      const left = name.side === 'right' ? x + 12 : x - 12 - namePx;
      return [{ left, right: left + namePx, middle: y + name.dropPx }];
    });
    expect(boxes.length).toBeGreaterThan(5);
    for (const [i, a] of boxes.entries()) {
      expect(a.left).toBeGreaterThanOrEqual(0);
      expect(a.right).toBeLessThanOrEqual(phone.widthPx);
      for (const b of boxes.slice(i + 1))
        expect(a.right <= b.left || b.right <= a.left || Math.abs(a.middle - b.middle) >= 17).toBe(
          true,
        );
    }
  });
});
