import { describe, expect, it } from 'vitest';
import { lineTo, placeNames, type MarkToName } from './place-names.ts';

const phone = { widthPx: 360, heightPx: 380 };
const mark = (id: string, x: number, y: number, namePx = 80): MarkToName => ({ id, x, y, namePx });

describe('names on a map', () => {
  it('are both there for two sites at one place, one under the other', () => {
    const [bench, sluice] = placeNames([mark('bench', 100, 100), mark('sluice', 100, 100)], phone);
    expect([bench?.name, sluice?.name]).toEqual([
      { side: 'right', dropPx: 0, awayPx: 0 },
      { side: 'right', dropPx: 0, awayPx: 0 },
    ]);
    // Two lines of 24 px, their middle on the place.
    expect([bench?.y, sluice?.y]).toEqual([88, 112]);
    expect([bench?.x, sluice?.x]).toEqual([100, 100]);
  });

  it('change side, or give way a little, before one is left out', () => {
    const [edge] = placeNames([mark('edge', 340, 200)], phone);
    expect(edge?.name).toEqual({ side: 'left', dropPx: 0, awayPx: 0 });
    // The first name takes 112 to 192 px; the second has no room to the right, and would lie over it to the left.
    const [first, second] = placeNames([mark('a', 100, 100), mark('b', 280, 112, 100)], phone);
    expect(first?.name).toEqual({ side: 'right', dropPx: 0, awayPx: 0 });
    expect(second?.name).toEqual({ side: 'left', dropPx: 15, awayPx: 0 });
  });

  it('stand at the end of a line where there is no room beside the mark', () => {
    // Walled in on both sides by names of others, with room above.
    const wall = [
      mark('w1', 100, 185, 60),
      mark('w2', 100, 200, 60),
      mark('w3', 100, 215, 60),
      mark('e1', 260, 185, 60),
      mark('e2', 260, 200, 60),
      mark('e3', 260, 215, 60),
    ];
    const inside = placeNames([...wall, mark('middle', 210, 200, 70)], phone).at(-1);
    expect(inside?.name?.awayPx).toBeGreaterThan(0);
    expect(inside?.number).toBeUndefined();
  });

  it('are a number where there is no room at all', () => {
    // A map that is narrower than any name.
    const tiny = { widthPx: 60, heightPx: 60 };
    const [first, second] = placeNames([mark('a', 20, 20, 90), mark('b', 20, 45, 90)], tiny);
    expect([first?.name, first?.number?.value]).toEqual([undefined, 1]);
    expect([second?.name, second?.number?.value]).toEqual([undefined, 2]);
  });

  it.each([12, 40, 120])(
    'never lie over each other, a mark, a line or the edge of the map: %i of them',
    (count) => {
      const crowd = Array.from({ length: count }, (_, i) =>
        mark(`m${i}`, 20 + ((i * 67) % 320), 20 + ((i * 41) % 340), 70 + (i % 5) * 12),
      );
      const placed = placeNames(crowd, phone);
      expect(placed.map(({ id }) => id)).toEqual(crowd.map(({ id }) => id));
      const boxes = placed.flatMap(({ name, number, x, y }, i) => {
        const near = name === undefined ? 8 : 12 + name.awayPx;
        const place = name ?? number;
        if (place === undefined) return [];
        const lengthPx = name === undefined ? 9 : (crowd[i]?.namePx ?? 0);
        const left = place.side === 'right' ? x + near : x - near - lengthPx;
        return [{ of: i, left, right: left + lengthPx, middle: y + place.dropPx }];
      });
      expect(boxes.length).toBeGreaterThan(5);
      const isIn = (x: number, y: number, box: (typeof boxes)[number]): boolean =>
        x > box.left && x < box.right && Math.abs(y - box.middle) < 8.5;
      for (const [i, a] of boxes.entries()) {
        expect(a.left).toBeGreaterThanOrEqual(0);
        expect(a.right).toBeLessThanOrEqual(phone.widthPx);
        for (const b of boxes.slice(i + 1))
          expect(
            a.right <= b.left || b.right <= a.left || Math.abs(a.middle - b.middle) >= 17,
          ).toBe(true);
        for (const { x, y } of placed) expect(isIn(x, y, a)).toBe(false);
      }
      // Looked at every hundredth of a line, by eye as it were.
      let lines = 0;
      for (const [i, { x, y, name }] of placed.entries()) {
        if (name === undefined || name.awayPx === 0) continue;
        lines += 1;
        const { from, end } = lineTo({ x, y }, name);
        for (let part = 0; part <= 1; part += 0.01) {
          const at = { x: from.x + (end.x - from.x) * part, y: from.y + (end.y - from.y) * part };
          expect(boxes.filter((box) => isIn(at.x, at.y, box))).toEqual([]);
          const near = placed.filter((other, j) => j !== i && isOn(at, other));
          expect(near).toEqual([]);
        }
      }
      if (count === 40) expect(lines).toBeGreaterThan(0);
    },
  );
});

const isOn = (a: { x: number; y: number }, b: { x: number; y: number }): boolean =>
  Math.max(Math.abs(a.x - b.x), Math.abs(a.y - b.y)) < 7.9;
