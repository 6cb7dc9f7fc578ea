/**
 * Rows of a metric written at once: what is encoded lies in memory, and nobody else gets a turn while it is. A list of twice as
 * many is too large for Node's young generation, and what was encoded would lie about until the next whole collection.
 */
export const BLOCK_ROWS = 8192;
/** Of a block that begins: a site may have months in which a metric was heard twice. */
const FIRST_ROOM = 1024;

/** What goes with a value beside its times: few rows of a metric differ in it. */
export interface RowFacts {
  readonly flag: number;
  readonly testMask: number;
  readonly timeQuality: number;
  readonly aggregation: string;
  readonly intervalS: number | null;
  readonly count: number;
  readonly expected: number | null;
  readonly part: string;
  readonly source: string;
}

/** Up to `BLOCK_ROWS` rows of one metric, numbers as numbers; what lies behind `length` is not of it. */
export interface RowBlock {
  length: number;
  /** Microseconds since 1970. */
  at: Float64Array;
  received: Float64Array;
  value: Float64Array;
  /** Place of the row's facts. */
  kind: Uint16Array;
}

/** Blocks that were written, for the next month: left to the garbage collector they would lie beside the new ones. */
export class SpareBlocks {
  readonly #spare: RowBlock[] = [];

  /** @param isFirst of its metric, which may have few rows */
  take(isFirst: boolean): RowBlock {
    return this.#spare.pop() ?? emptyBlock(isFirst ? FIRST_ROOM : BLOCK_ROWS);
  }

  give(block: RowBlock): void {
    if (block.at.length < BLOCK_ROWS) return;
    block.length = 0;
    this.#spare.push(block);
  }
}

/** The rows of one metric in blocks: a month is never copied to make room, and nothing is kept free for rows that do not come. */
export class MetricColumns {
  readonly blocks: RowBlock[] = [];
  readonly facts: RowFacts[] = [];
  readonly #places = new Map<string, number>();
  readonly #spare: SpareBlocks;
  #last: RowBlock | undefined;

  constructor(spare: SpareBlocks) {
    this.#spare = spare;
  }

  get length(): number {
    return this.blocks.reduce((rows, { length }) => rows + length, 0);
  }

  add(atMicros: number, receivedMicros: number, value: number, place: number): void {
    let block = this.#last;
    if (block === undefined || block.length === BLOCK_ROWS) {
      block = this.#spare.take(this.blocks.length === 0);
      this.blocks.push(block);
      this.#last = block;
    } else if (block.length === block.at.length) widen(block);
    const i = block.length;
    block.at[i] = atMicros;
    block.received[i] = receivedMicros;
    block.value[i] = value;
    block.kind[i] = place;
    block.length = i + 1;
  }

  /** Place of these facts, for as long as this file is gathered. */
  placeOf(row: RowFacts): number {
    const key = `${row.flag} ${row.testMask} ${row.timeQuality} ${row.aggregation} ${row.intervalS} ${row.count} ${row.expected} ${row.part} ${row.source}`;
    const found = this.#places.get(key);
    if (found !== undefined) return found;
    this.facts.push(row);
    this.#places.set(key, this.facts.length - 1);
    return this.facts.length - 1;
  }
}

const emptyBlock = (room: number): RowBlock => ({
  length: 0,
  at: new Float64Array(room),
  received: new Float64Array(room),
  value: new Float64Array(room),
  kind: new Uint16Array(room),
});

function widen(block: RowBlock): void {
  const { at, received, value, kind } = block;
  Object.assign(block, { ...emptyBlock(at.length * 2), length: at.length });
  block.at.set(at);
  block.received.set(received);
  block.value.set(value);
  block.kind.set(kind);
}
