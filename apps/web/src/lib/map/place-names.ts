/** A mark to be drawn: where its place falls on the map, px, and what is to be written beside it. */
export interface MarkToName {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  /** Length of the writing, px. */
  readonly namePx: number;
}

/** A mark as it is drawn. Marks of one place stand under each other, so that each can be read and pressed. */
export interface NamedMark {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  /** Undefined: there is no room for the name, not even at the end of a line. */
  readonly name?: NamePlace;
  /** Stands for the name that has no room, and before it in the list below the map. Undefined: not even that has room. */
  readonly number?: NumberPlace;
}

export interface NamePlace {
  readonly side: Side;
  /** How far the name stands below the middle of its mark, px; negative: above. */
  readonly dropPx: number;
  /** How much further than beside its mark, px; with any, a line leads to it. */
  readonly awayPx: number;
}

interface NumberPlace {
  readonly value: number;
  readonly side: Side;
  readonly dropPx: number;
}

type Side = (typeof SIDES)[number];

interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

interface Point {
  readonly x: number;
  readonly y: number;
}

interface Line {
  readonly from: Point;
  readonly end: Point;
  /** Where the name begins. */
  readonly to: Point;
}

/** Marks nearer than this cannot be told apart: they count as one place. */
const ONE_PLACE_PX = 12;
/** From one line of names to the next; as high as what a finger may press. */
export const LINE_PX = 24;
const NAME_HEIGHT_PX = 17;
const MARK_PX = 8;
const GAP_PX = 4;
/** How far a name may leave the height of its mark before it seems to be another's. */
const DROP_PX = 15;
const SIDES = ['right', 'left'] as const;
const DIGIT_PX = 9;
/** Where a name may stand at the end of a line: the nearer the better, and no further than the eye follows. */
const LINE_ENDS: readonly NamePlace[] = [-75, -60, -45, -30, 0, 30, 45, 60, 75]
  .flatMap((dropPx) =>
    [0, 12, 24, 40, 56, 72].flatMap((awayPx) =>
      SIDES.map((side): NamePlace => ({ side, dropPx, awayPx })),
    ),
  )
  .filter(({ awayPx }) => awayPx > 0)
  .sort((a, b) => lengthOf(a) - lengthOf(b));
function lengthOf({ dropPx, awayPx }: NamePlace): number {
  return Math.hypot(dropPx, awayPx);
}

const overlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

const markBox = ({ x, y }: { readonly x: number; readonly y: number }): Box => ({
  left: x - MARK_PX,
  right: x + MARK_PX,
  top: y - MARK_PX,
  bottom: y + MARK_PX,
});

/**
 * Where names stand so that none lies over another or over a mark: beside its mark, a little above or below it, at the end of a
 * line that crosses nothing, or nowhere. What has no name has a number, where there is room for one.
 *
 * @param marks  the most important first: it is named first
 * @param size   of the map, px; no name leaves it
 * @returns in the order given
 */
export function placeNames(
  marks: readonly MarkToName[],
  size: { readonly widthPx: number; readonly heightPx: number },
): readonly NamedMark[] {
  const spread = spreadPlaces(marks);
  const taken: Box[] = spread.map(markBox);
  const lines: Line[] = [];
  const isFree = (box: Box, own: number): boolean =>
    isInside(box, size) &&
    taken.every((other, i) => i === own || !overlap(box, other)) &&
    lines.every((line) => !crosses(line, box));

  const beside = spread.map(({ x, y, namePx, shared }, own): NamePlace | undefined => {
    // Names of one place keep to their lines: shifted ones would be read for each other's.
    for (const dropPx of shared ? [0] : [0, -DROP_PX, DROP_PX])
      for (const side of SIDES) {
        const box = nameBox({ x, y: y + dropPx, namePx }, side);
        if (!isFree(box, own)) continue;
        taken.push(box);
        return { side, dropPx, awayPx: 0 };
      }
    return undefined;
  });
  const named = spread.map((mark, own): NamePlace | undefined => {
    const near = beside[own];
    if (near !== undefined) return near;
    return LINE_ENDS.find((place) => {
      const line = lineTo(mark, place);
      const box = nameBox({ ...line.to, namePx: mark.namePx }, place.side, 0);
      const isClear = taken.every((other, i) => i === own || !crosses(line, other));
      if (!isClear || lines.some((other) => meet(line, other)) || !isFree(box, own)) return false;
      taken.push(box);
      lines.push(line);
      return true;
    });
  });
  let last = 0;
  return spread.map(({ id, x, y }, own): NamedMark => {
    const name = named[own];
    if (name !== undefined) return { id, x, y, name };
    const value = last + 1;
    const namePx = DIGIT_PX * String(value).length;
    for (const dropPx of [0, -DROP_PX, DROP_PX])
      for (const side of SIDES) {
        const box = nameBox({ x, y: y + dropPx, namePx }, side, MARK_PX);
        if (!isFree(box, own)) continue;
        taken.push(box);
        last = value;
        return { id, x, y, number: { value, side, dropPx } };
      }
    return { id, x, y };
  });
}

/** The line from a mark to a name that stands away from it. */
export function lineTo(
  { x, y }: { readonly x: number; readonly y: number },
  { side, dropPx, awayPx }: NamePlace,
): Line {
  const sign = side === 'right' ? 1 : -1;
  const to = { x: x + sign * (MARK_PX + GAP_PX + awayPx), y: y + dropPx };
  const lengthPx = Math.hypot(to.x - x, to.y - y);
  // It begins at the edge of the mark and ends short of the first letter.
  const from = (MARK_PX + 1) / lengthPx;
  const until = 1 - 2 / lengthPx;
  return {
    from: { x: x + (to.x - x) * from, y: y + (to.y - y) * from },
    end: { x: x + (to.x - x) * until, y: y + (to.y - y) * until },
    to,
  };
}

/** Marks of one place, moved apart to lines under each other around it. */
function spreadPlaces(marks: readonly MarkToName[]) {
  const places: MarkToName[][] = [];
  for (const mark of marks) {
    const place = places.find(
      ([first]) =>
        first !== undefined && Math.hypot(first.x - mark.x, first.y - mark.y) < ONE_PLACE_PX,
    );
    if (place === undefined) places.push([mark]);
    else place.push(mark);
  }
  const placeOf = new Map(places.flatMap((place) => place.map((mark) => [mark.id, place])));
  return marks.map((mark) => {
    const place = placeOf.get(mark.id) ?? [mark];
    const [first = mark] = place;
    const line = place.indexOf(mark) - (place.length - 1) / 2;
    return {
      ...mark,
      x: first.x,
      y: place.length === 1 ? mark.y : first.y + line * LINE_PX,
      shared: place.length > 1,
    };
  });
}

function nameBox(
  { x, y, namePx }: { readonly x: number; readonly y: number; readonly namePx: number },
  side: Side,
  near = MARK_PX + GAP_PX,
): Box {
  return {
    left: side === 'right' ? x + near : x - near - namePx,
    right: side === 'right' ? x + near + namePx : x - near,
    top: y - NAME_HEIGHT_PX / 2,
    bottom: y + NAME_HEIGHT_PX / 2,
  };
}

/** Does any of a line lie in a box? Cut to the box's breadth, then to its height, something of it is left. */
function crosses({ from, end }: Line, box: Box): boolean {
  let first = 0;
  let last = 1;
  for (const [start, by, low, high] of [
    [from.x, end.x - from.x, box.left, box.right],
    [from.y, end.y - from.y, box.top, box.bottom],
  ] as const) {
    if (by === 0) {
      if (start <= low || start >= high) return false;
      continue;
    }
    const at = [(low - start) / by, (high - start) / by] as const;
    first = Math.max(first, Math.min(...at));
    last = Math.min(last, Math.max(...at));
  }
  return first < last;
}

/** Do two lines cross? The ends of each lie on either side of the other. */
function meet(a: Line, b: Line): boolean {
  const turn = (p: Point, q: Point, r: Point): number =>
    Math.sign((q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x));
  return (
    turn(a.from, a.end, b.from) !== turn(a.from, a.end, b.end) &&
    turn(b.from, b.end, a.from) !== turn(b.from, b.end, a.end)
  );
}

const isInside = (
  box: Box,
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
): boolean => box.left >= 0 && box.right <= widthPx && box.top >= 0 && box.bottom <= heightPx;
