import type { MetricKey, NodeId, NodeName, Sample } from '@duskline/domain';

/** `open`: files are being brought or looked at. `stopped`: ended before all was stored; it may go on. */
export type CardImportState = 'open' | 'storing' | 'done' | 'stopped';

/** Readings, by what became of them. */
export interface CardCounts {
  /** New, marked as come by this import. */
  readonly filled: number;
  /** Stored already with the same value. */
  readonly here: number;
  /** Stored already with another value, which is kept; the card's is listed. */
  readonly conflicts: number;
  /** Said twice in the files themselves. */
  readonly repeated: number;
}

export interface CardImport {
  readonly id: number;
  readonly nodeId: NodeId;
  readonly node: NodeName;
  readonly siteName: string;
  readonly siteZone: string;
  readonly state: CardImportState;
  readonly by: string;
  readonly createdAtMs: number;
  readonly changedAtMs: number;
  readonly files: readonly { readonly name: string; readonly bytes: number }[];
  /** As the one who opens the import wrote it. */
  readonly settings: unknown;
  readonly counts: CardCounts;
  /** Why it stopped, in words. */
  readonly note?: string;
}

export interface CardConflict {
  readonly metric: MetricKey;
  readonly observedAtMs: number;
  readonly keptValue: number;
  readonly cardValue: number;
}

export interface CardBatch {
  readonly importId: number;
  readonly nodeId: NodeId;
  /** At most some thousands, in any order. */
  readonly samples: readonly Sample[];
  readonly receivedAtMs: number;
  /** Values of one reading that differ by no more than this are the same one, written with fewer digits. Absent: none may differ. */
  readonly tolerance: ReadonlyMap<MetricKey, number>;
  /**
   * The step to which the card's times are written, where lines lie well apart: what came by air within half a step before or
   * a step after is the same reading. 0: only the very instant is.
   */
  readonly timeStepMs: number;
}

export interface CardImportStore {
  create(entry: {
    readonly nodeId: NodeId;
    readonly by: string;
    readonly files: CardImport['files'];
  }): Promise<CardImport>;
  find(id: number): Promise<CardImport | undefined>;
  /** The latest first. */
  recent(limit: number): Promise<readonly CardImport[]>;
  /** @returns false when there is none in one of the states `from`. */
  change(
    id: number,
    to: {
      readonly state: CardImportState;
      readonly from: readonly CardImportState[];
      readonly files?: CardImport['files'];
      readonly settings?: unknown;
      readonly note?: string;
    },
  ): Promise<boolean>;
  /** Forgets an import that stored nothing yet. @returns false when it did, or there is none. */
  remove(id: number): Promise<boolean>;
  /**
   * Merges samples of a card with what is stored: fills what is missing, keeps what is there, lists what differs. Safe to
   * repeat: what was filled before is then "here".
   *
   * @throws StoreInputError for values or times no reader of cards should have let through.
   */
  merge(batch: CardBatch): Promise<CardCounts>;
  /** As `merge`, but nothing is stored: what would become of these. */
  compare(batch: Omit<CardBatch, 'importId' | 'receivedAtMs'>): Promise<CardCounts>;
  /**
   * In the hours that changed: rows of cards give way to the same readings that came by air later, but for what only the card
   * has. @returns rows that gave way
   */
  yieldToAir(nodeId: NodeId): Promise<number>;
  /** By time. */
  conflicts(
    id: number,
    page: { readonly limit: number; readonly skip: number },
  ): Promise<readonly CardConflict[]>;
}
