/** A mark to be drawn: where its place falls on the map, px, and what is to be written beside it. */
export interface MarkToName {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  /** Length of the writing, px. */
  readonly namePx: number;
  /** It is to be named before all that are not. */
  readonly important?: boolean;
}

/** A mark as it is drawn. Marks of one place stand under each other, so that each can be read and pressed. */
export interface NamedMark {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  /** The name beside its mark. */
  readonly beside?: { readonly side: Side; readonly dropPx: number };
  /** The name at the end of a line, where there is no room beside the mark. */
  readonly led?: LedName;
  /** Where there is room for neither: stands for the name, here and in the list below the map. Absent: not even that has room. */
  readonly number?: PlacedNumber;
  /** What the name or the number covers. */
  readonly covers?: Box;
}

export interface PlacedNumber {
  readonly value: number;
  /** Its left end and its middle height, from the middle of its mark, px. */
  readonly leftPx: number;
  readonly dropPx: number;
  /** To its mark, where it has no room beside it. */
  readonly line?: Line;
}

/** A name at the end of a line. */
export interface LedName {
  /** Its left end and its middle height, from the middle of its mark, px. */
  readonly leftPx: number;
  readonly dropPx: number;
  readonly namePx: number;
  /** How the name stands in its length: at the line's end of it. */
  readonly align: 'start' | 'center' | 'end';
  readonly line: Line;
}

type Side = (typeof SIDES)[number];

interface Point {
  readonly x: number;
  readonly y: number;
}

interface Line {
  readonly from: Point;
  readonly end: Point;
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
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
const NUMBER_HEIGHT_PX = 13;
const NUMBER_APART_PX = 5;
/** So near, px, no line passes a name or another mark. */
const CLEAR_PX = 3;
/** So long, px, may a line be: no further than the eye follows; and so short, that it is seen. */
const LINE_MOST_PX = 84;
const LINE_LEAST_PX = 6;
/** From one place that is tried for a name to the next. */
const TRIED_EVERY_PX = 8;
/** So many names, and so many numbers, are tried at the end of lines, the most important: a map with more is read by its list. */
const MOST_LINES = 60;

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
 * line that crosses nothing, or nowhere. What has no name has a number, beside its mark or at the end of a line, where there is room
 * for one. What is important takes its room before anything else does.
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
  const room = new Room(spread.map(markBox), size);
  const named: Named[] = spread.map(() => ({}));
  let tried = 0;
  let last = 0;
  for (const important of [true, false]) {
    const group = spread.flatMap((mark, own) =>
      (mark.important ?? false) === important ? [{ mark, own }] : [],
    );
    for (const { mark, own } of group) named[own] = besideIn(room, mark, own);
    for (const { mark, own } of group)
      if (named[own]?.covers === undefined && (tried += 1) <= MOST_LINES)
        named[own] = ledIn(room, mark, own);
    for (const { mark, own } of group) {
      if (named[own]?.covers !== undefined) continue;
      named[own] = numberIn(room, mark, { own, value: last + 1 });
      last = named[own].number?.value ?? last;
    }
  }
  return spread.map(({ id, x, y }, own) => ({ id, x, y, ...named[own] }));
}

/** Does a writing of the ground lie under a mark or a name? It is left out then: what is on the ground is the lesser. */
export const isCovered = (box: Box, marks: readonly NamedMark[]): boolean =>
  marks.some(
    (mark) =>
      overlap(box, markBox(mark)) || (mark.covers !== undefined && overlap(box, mark.covers)),
  );

type Named = Omit<NamedMark, 'id' | 'x' | 'y'>;
type Spread = ReturnType<typeof spreadPlaces>[number];

/** What is taken of a map: by marks, by names, and by lines between them. */
class Room {
  readonly #boxes: Box[];
  readonly #lines: Line[] = [];
  readonly #size: { readonly widthPx: number; readonly heightPx: number };

  /** @param marks of all; a name may lie over its own, by its place in them */
  constructor(
    marks: readonly Box[],
    size: { readonly widthPx: number; readonly heightPx: number },
  ) {
    this.#boxes = [...marks];
    this.#size = size;
  }

  /** Takes the box, and the line to it, unless something is there. */
  take(own: number, box: Box, line?: Line): boolean {
    if (!isInside(box, this.#size)) return false;
    if (this.#boxes.some((other, i) => i !== own && overlap(box, other))) return false;
    if (this.#lines.some((other) => crosses(other, widened(box)))) return false;
    if (line !== undefined) {
      if (this.#boxes.some((other, i) => i !== own && crosses(line, widened(other)))) return false;
      if (this.#lines.some((other) => meet(line, other))) return false;
      this.#lines.push(line);
    }
    this.#boxes.push(box);
    return true;
  }
}

function besideIn(room: Room, { x, y, namePx, shared }: Spread, own: number): Named {
  // Names of one place keep to their lines: shifted ones would be read for each other's.
  for (const dropPx of shared ? [0] : [0, -DROP_PX, DROP_PX])
    for (const side of SIDES) {
      const covers = nameBox({ x, y: y + dropPx, namePx }, side);
      if (room.take(own, covers)) return { beside: { side, dropPx }, covers };
    }
  return {};
}

function ledIn(room: Room, mark: Spread, own: number): Named {
  const found = ledPlaces(mark).find(({ box, name }) => room.take(own, box, name.line));
  return found === undefined ? {} : { led: found.name, covers: found.box };
}

function numberIn(
  room: Room,
  { id, x, y }: Spread,
  { own, value }: { readonly own: number; readonly value: number },
): Named {
  const namePx = DIGIT_PX * String(value).length;
  const [right, left, over] = [MARK_PX + 2, -MARK_PX - 2 - namePx, -namePx / 2];
  const beside = [
    ...[0, -4, 4, -8, 8, -DROP_PX, DROP_PX].flatMap((dropPx) => [
      { leftPx: right, dropPx },
      { leftPx: left, dropPx },
    ]),
    { leftPx: over, dropPx: -DROP_PX },
    { leftPx: over, dropPx: DROP_PX },
  ];
  for (const { leftPx, dropPx } of beside) {
    const covers = boxOf(
      // Apart from what follows: before a name it would be read as that name's number.
      { x: x + leftPx - NUMBER_APART_PX, y: y + dropPx, namePx: namePx + 2 * NUMBER_APART_PX },
      NUMBER_HEIGHT_PX,
    );
    if (room.take(own, covers)) return { number: { value, leftPx, dropPx }, covers };
  }
  if (value > MOST_LINES) return {};
  const apart = { id, x, y, namePx: namePx + 2 * NUMBER_APART_PX };
  const found = ledPlaces(apart).find(({ box, name }) => room.take(own, box, name.line));
  if (found === undefined) return {};
  const { leftPx, dropPx, line } = found.name;
  return { number: { value, leftPx: leftPx + NUMBER_APART_PX, dropPx, line }, covers: found.box };
}

/** Where the name of a mark may stand at the end of a line, the shortest line first. */
function ledPlaces({ x, y, namePx }: MarkToName) {
  const places: { readonly lengthPx: number; readonly box: Box; readonly name: LedName }[] = [];
  const reach = MARK_PX + LINE_MOST_PX;
  for (let dropPx = -reach; dropPx <= reach; dropPx += TRIED_EVERY_PX)
    for (let leftPx = -reach - namePx; leftPx <= reach; leftPx += TRIED_EVERY_PX) {
      const box = boxOf({ x: x + leftPx, y: y + dropPx, namePx });
      const align = box.left >= x ? 'start' : box.right <= x ? 'end' : 'center';
      const to = { x: lineEndX(box, { x, align }), y: y + nearer(dropPx, NAME_HEIGHT_PX / 2) };
      const lengthPx = Math.hypot(to.x - x, to.y - y) - MARK_PX;
      if (lengthPx < LINE_LEAST_PX || lengthPx > LINE_MOST_PX) continue;
      const line = shortened({ from: { x, y }, end: to });
      places.push({ lengthPx, box, name: { leftPx, dropPx, namePx, align, line } });
    }
  return places.sort((a, b) => a.lengthPx - b.lengthPx);
}

/** A name over or under its mark is met above its letters: the length of a name is a guess, its ends may be empty. */
function lineEndX(
  box: Box,
  { x, align }: { readonly x: number; readonly align: LedName['align'] },
): number {
  if (align === 'start') return box.left;
  if (align === 'end') return box.right;
  const empty = (box.right - box.left) / 4;
  return Math.min(Math.max(x, box.left + empty), box.right - empty);
}

const nearer = (px: number, byPx: number): number =>
  Math.sign(px) * Math.max(0, Math.abs(px) - byPx);

/** From the edge of the mark to just before the name. */
function shortened({ from, end }: Line): Line {
  const lengthPx = Math.hypot(end.x - from.x, end.y - from.y);
  const at = (px: number): Point => ({
    x: from.x + ((end.x - from.x) * px) / lengthPx,
    y: from.y + ((end.y - from.y) * px) / lengthPx,
  });
  return { from: at(MARK_PX + 1), end: at(lengthPx - 1) };
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

const NEAR_PX = MARK_PX + GAP_PX;
const nameBox = (name: Omit<MarkToName, 'id'>, side: Side): Box =>
  boxOf({ ...name, x: side === 'right' ? name.x + NEAR_PX : name.x - NEAR_PX - name.namePx });

/** @param left end and middle height of a name */
const boxOf = (
  { x, y, namePx }: Omit<MarkToName, 'id'>,
  heightPx: number = NAME_HEIGHT_PX,
): Box => ({
  left: x,
  right: x + namePx,
  top: y - heightPx / 2,
  bottom: y + heightPx / 2,
});

const widened = ({ left, top, right, bottom }: Box): Box => ({
  left: left - CLEAR_PX,
  top: top - CLEAR_PX,
  right: right + CLEAR_PX,
  bottom: bottom + CLEAR_PX,
});

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
