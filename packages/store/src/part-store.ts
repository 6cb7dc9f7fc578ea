import type { NodeId, Part, PowerSystem, SiteId } from '@duskline/domain';

export type NewPart = Omit<Part, 'id' | 'removedAtMs' | 'replacedBy'>;

/** The design values a part brings with it. */
export interface PowerChange {
  readonly nodeId: NodeId;
  readonly power: PowerSystem;
}

export interface PartStore {
  /** Those at the site first, then those that were. */
  list(siteId: SiteId): Promise<readonly Part[]>;
  find(id: string): Promise<Part | undefined>;
  /** @throws StoreConflictError when the same thing is fitted already, or the site does not exist. */
  add(part: NewPart, change?: PowerChange): Promise<Part>;
  /**
   * Takes a part out and puts the next one in its place. If the old one had limits, the hours from then on are marked to be
   * tested again without them; the next one has none until they are set.
   *
   * @returns undefined when there is no such part at the site any more
   * @throws StoreConflictError as `add`
   */
  replace(id: string, next: NewPart, change?: PowerChange): Promise<Part | undefined>;
  /**
   * Hours after it are marked to be tested again without the limits it had.
   *
   * @returns undefined when there is no such part at the site any more
   */
  remove(id: string, atMs: number): Promise<Part | undefined>;
}
