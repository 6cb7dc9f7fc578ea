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
  /** Undefined: there is no room for the name. */
  readonly name?: {
    readonly side: 'right' | 'left';
    /** How far the name stands below the middle of its mark, px; negative: above. */
    readonly dropPx: number;
  };
}

interface Box {
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

const overlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

const markBox = ({ x, y }: { readonly x: number; readonly y: number }): Box => ({
  left: x - MARK_PX,
  right: x + MARK_PX,
  top: y - MARK_PX,
  bottom: y + MARK_PX,
});

/**
 * Where names stand so that none lies over another or over a mark: beside its mark, a little above or below it, or nowhere.
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
  return spread.map(({ id, x, y, namePx, shared }, own) => {
    // Names of one place keep to their lines: shifted ones would be read for each other's.
    const drops = shared ? [0] : [0, -DROP_PX, DROP_PX];
    for (const dropPx of drops)
      for (const side of SIDES) {
        const box = nameBox({ x, y: y + dropPx, namePx }, side);
        const isFree = taken.every((other, i) => i === own || !overlap(box, other));
        if (!isFree || !isInside(box, size)) continue;
        taken.push(box);
        return { id, x, y, name: { side, dropPx } };
      }
    return { id, x, y };
  });
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
  side: 'right' | 'left',
): Box {
  const near = MARK_PX + GAP_PX;
  return {
    left: side === 'right' ? x + near : x - near - namePx,
    right: side === 'right' ? x + near + namePx : x - near,
    top: y - NAME_HEIGHT_PX / 2,
    bottom: y + NAME_HEIGHT_PX / 2,
  };
}

const isInside = (
  box: Box,
  { widthPx, heightPx }: { readonly widthPx: number; readonly heightPx: number },
): boolean => box.left >= 0 && box.right <= widthPx && box.top >= 0 && box.bottom <= heightPx;
