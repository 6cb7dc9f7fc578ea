import type { MetricKey } from '@duskline/domain';

/** A line that says something, by its number in the file. */
export interface LineExample {
  readonly line: number;
  readonly text: string;
}

/** Something that happened to so many lines, with the first few of them. */
export interface Happening {
  count: number;
  readonly examples: LineExample[];
}

export interface PreviewRow extends LineExample {
  readonly atMs: number;
  readonly readings: readonly { readonly metric: MetricKey; readonly value: number }[];
}

/** What went by while a file was read: the ground of every doubt. */
export interface CardTally {
  lines: number;
  rows: number;
  readings: number;
  /** Cells that say they have no value. */
  missingCells: number;
  /** Another number of cells than the columns, or a time that cannot be read. */
  readonly unreadable: Happening;
  /** Cells of a metric that are neither number nor "no value". */
  readonly badCells: Happening;
  readonly tooOld: Happening;
  readonly future: Happening;
  /** By metric and number: cells that look like "no value" though they are numbers. */
  readonly codes: Map<string, { readonly metric: MetricKey; readonly code: number; count: number }>;
  firstMs: number;
  lastMs: number;
  /** How often a line is dated before the one above it. */
  backSteps: number;
  /** Lines whose time carries no offset. */
  wallRows: number;
  /** Lines in an hour that the zone's clocks left out. */
  readonly skipped: Happening;
  /** Days on which an hour came twice: lines in it, and whether the file shows the clock going back. */
  readonly folds: Map<number, { count: number; seen: boolean; readonly example: LineExample }>;
  /** Lines whose date can be read day first or month first, and what speaks for either. */
  readonly order: {
    open: number;
    dayFirstProved: boolean;
    monthFirstProved: boolean;
    /** How often the time would go back if the other order held. */
    otherBackSteps: number;
    otherLastMs: number;
    readonly examples: LineExample[];
  };
  /** The finest step of the written times. */
  resolutionMs: number;
  /** The first differences between lines. */
  readonly steps: number[];
  /** Most digits behind the decimal mark, by metric. */
  readonly decimals: Map<MetricKey, number>;
  readonly preview: PreviewRow[];
  /** Lines spread over the whole file, to be held against what came by air. */
  spread: PreviewRow[];
}

export const newTally = (): CardTally => ({
  lines: 0,
  rows: 0,
  readings: 0,
  missingCells: 0,
  unreadable: { count: 0, examples: [] },
  badCells: { count: 0, examples: [] },
  tooOld: { count: 0, examples: [] },
  future: { count: 0, examples: [] },
  codes: new Map(),
  firstMs: Infinity,
  lastMs: -Infinity,
  backSteps: 0,
  wallRows: 0,
  skipped: { count: 0, examples: [] },
  folds: new Map(),
  order: {
    open: 0,
    dayFirstProved: false,
    monthFirstProved: false,
    otherBackSteps: 0,
    otherLastMs: -Infinity,
    examples: [],
  },
  resolutionMs: Infinity,
  steps: [],
  decimals: new Map(),
  preview: [],
  spread: [],
});

const EXAMPLES = 3;
const EXAMPLE_LENGTH = 160;

export const exampleOf = (line: number, text: string): LineExample => ({
  line,
  text: text.length > EXAMPLE_LENGTH ? `${text.slice(0, EXAMPLE_LENGTH)}…` : text,
});

export function happened(to: Happening, line: number, text: string): void {
  to.count += 1;
  if (to.examples.length < EXAMPLES) to.examples.push(exampleOf(line, text));
}

/** The usual step between lines; undefined below three. */
export function usualStepMs({ steps }: CardTally): number | undefined {
  if (steps.length < 2) return undefined;
  return [...steps].sort((a, b) => a - b)[Math.floor(steps.length / 2)];
}
