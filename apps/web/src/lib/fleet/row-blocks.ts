import type { FleetRowJson } from '@duskline/contract';
import { needsSomeone } from '@duskline/domain';
import type { RowGroup } from './group-rows.ts';
import { stopsSoon } from './outlook-span.ts';
import { summariseSite } from './summarise-site.ts';

/** Rows that are drawn together, or not at all. */
export interface RowBlock {
  readonly key: string;
  /** Stands above the block when its group begins with it. */
  readonly heading: string | undefined;
  /** Sites under the heading. */
  readonly headed: number;
  readonly rows: readonly FleetRowJson[];
  /** Place of its first row in the whole table, from 0. */
  readonly first: number;
}

/** Few enough that drawing one block takes no breath, many enough that ten thousand rows are a thousand blocks. */
export const ROWS_A_BLOCK = 10;

export function cutBlocks(groups: readonly RowGroup[], size = ROWS_A_BLOCK): readonly RowBlock[] {
  const blocks: RowBlock[] = [];
  let first = 0;
  for (const group of groups)
    for (let at = 0; at < group.rows.length; at += size) {
      const rows = group.rows.slice(at, at + size);
      blocks.push({
        key: `${group.key} ${at}`,
        heading: at === 0 ? group.heading : undefined,
        headed: group.rows.length,
        rows,
        first,
      });
      first += rows.length;
    }
  return blocks;
}

/** As in styles/tokens/space.css; a drawn block is measured, so that an error here only moves the scroll bar. */
const CALM_REM = 1.6;
const NEEDY_REM = 3.1;

/** Height a block will have, in rem, before it was ever drawn. */
export const expectedRem = (rows: readonly FleetRowJson[], nowMs: number): number =>
  rows.reduce((sum, { site }) => {
    const tall = needsSomeone(summariseSite(site)) || stopsSoon(site.outlook, nowMs);
    return sum + (tall ? NEEDY_REM : CALM_REM);
  }, 0);
