import { describe, expect, it } from 'vitest';
import { isCovered, placeNames, type MarkToName } from './place-names.ts';

const phone = { widthPx: 360, heightPx: 380 };
const mark = (id: string, x: number, y: number, namePx = 80): MarkToName => ({ id, x, y, namePx });

describe('names on a map', () => {
  it('are both there for two sites at one place, one under the other', () => {
    const [bench, sluice] = placeNames([mark('bench', 100, 100), mark('sluice', 100, 100)], phone);
    expect([bench?.beside, sluice?.beside]).toEqual([
      { side: 'right', dropPx: 0 },
      { side: 'right', dropPx: 0 },
    ]);
    // Two lines of 24 px, their middle on the place.
    expect([bench?.y, sluice?.y]).toEqual([88, 112]);
    expect([bench?.x, sluice?.x]).toEqual([100, 100]);
  });

  it('change side, or give way a little, before one is left out', () => {
    const [edge] = placeNames([mark('edge', 340, 200)], phone);
    expect(edge?.beside).toEqual({ side: 'left', dropPx: 0 });
    // The first name takes 112 to 192 px; the second has no room to the right, and would lie over it to the left.
    const [first, second] = placeNames([mark('a', 100, 100), mark('b', 280, 112, 100)], phone);
    expect(first?.beside).toEqual({ side: 'right', dropPx: 0 });
    expect(second?.beside).toEqual({ side: 'left', dropPx: 15 });
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
    expect(inside?.beside).toBeUndefined();
    expect(inside?.led).toBeDefined();
    expect(inside?.number).toBeUndefined();
  });

  it('of what is important take their room before any other', () => {
    // One line of 84 px between two marks, and the edge of the map behind each: room for one name.
    const strip = { widthPx: 200, heightPx: 24 };
    const of = (important: boolean) =>
      placeNames([mark('a', 50, 12), { ...mark('b', 150, 12), important }], strip);
    expect(of(false).map(({ beside }) => beside?.side)).toEqual(['right', undefined]);
    expect(of(true).map(({ beside }) => beside?.side)).toEqual([undefined, 'left']);
    expect(of(true)[0]?.number?.value).toBe(1);
  });

  it('and marks cover what is written on the ground', () => {
    // The name takes 112 to 192 px beside its mark at 100.
    const marks = placeNames([mark('a', 100, 100)], phone);
    const at = (left: number) => ({ left, right: left + 30, top: 95, bottom: 110 });
    expect([at(60), at(80), at(150), at(192)].map((box) => isCovered(box, marks))).toEqual([
      false,
      true,
      true,
      false,
    ]);
  });

  it('are a number where there is no room at all', () => {
    // A map that is narrower than any name.
    const tiny = { widthPx: 60, heightPx: 60 };
    const [first, second] = placeNames([mark('a', 20, 20, 90), mark('b', 20, 45, 90)], tiny);
    expect([first?.led, first?.number?.value]).toEqual([undefined, 1]);
    expect([second?.led, second?.number?.value]).toEqual([undefined, 2]);
  });

  it('leave no mark of twenty sites in one valley without a name or a number, on the smallest telephone', () => {
    // 320 px of page without its margins; the valley is 150 px wide and 200 px high.
    const smallest = { widthPx: 286, heightPx: 380 };
    const valley = Array.from({ length: 20 }, (_, i) =>
      mark(`v${i}`, 100 + ((i * 37) % 150), 130 + ((i * 53) % 200), 80 + (i % 5) * 12),
    );
    const placed = placeNames(valley, smallest);
    const nameless = placed.filter(({ beside, led, number }) =>
      [beside, led, number].every((one) => one === undefined),
    );
    expect(nameless).toEqual([]);
  });

  it.each([12, 40, 120])(
    'never lie over each other, a mark, a line or the edge of the map: %i of them',
    (count) => {
      const crowd = Array.from({ length: count }, (_, i) =>
        mark(`m${i}`, 20 + ((i * 67) % 320), 20 + ((i * 41) % 340), 70 + (i % 5) * 12),
      );
      const placed = placeNames(crowd, phone);
      expect(placed.map(({ id }) => id)).toEqual(crowd.map(({ id }) => id));
      const boxes = placed.flatMap(({ beside, led, number, x, y }, i) => {
        const namePx = crowd[i]?.namePx ?? 0;
        if (led !== undefined)
          return [
            {
              left: x + led.leftPx,
              right: x + led.leftPx + namePx,
              middle: y + led.dropPx,
              half: 8.5,
            },
          ];
        if (number !== undefined) {
          const left = x + number.leftPx;
          return [{ left, right: left + 9, middle: y + number.dropPx, half: 6.5 }];
        }
        if (beside === undefined) return [];
        const left = beside.side === 'right' ? x + 12 : x - 12 - namePx;
        return [{ left, right: left + namePx, middle: y + beside.dropPx, half: 8.5 }];
      });
      expect(boxes.length).toBeGreaterThan(5);
      const isIn = (x: number, y: number, box: (typeof boxes)[number]): boolean =>
        x > box.left && x < box.right && Math.abs(y - box.middle) < box.half;
      for (const [i, a] of boxes.entries()) {
        expect(a.left).toBeGreaterThanOrEqual(0);
        expect(a.right).toBeLessThanOrEqual(phone.widthPx);
        for (const b of boxes.slice(i + 1))
          expect(
            a.right <= b.left ||
              b.right <= a.left ||
              Math.abs(a.middle - b.middle) >= a.half + b.half,
          ).toBe(true);
        for (const { x, y } of placed) expect(isIn(x, y, a)).toBe(false);
      }
      // Looked at every hundredth of a line, by eye as it were.
      let lines = 0;
      for (const [i, { led, number }] of placed.entries()) {
        const line = led?.line ?? number?.line;
        if (line === undefined) continue;
        lines += 1;
        const { from, end } = line;
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
