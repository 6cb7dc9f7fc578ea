import type {
  CardConflictsJson,
  CardImportJson,
  CardPieceJson,
  CardSettingsJson,
} from '@duskline/contract';
import type { FieldNode, Result } from '@duskline/domain';

/** Why a step of a card import cannot be taken, as a problem of the catalogue. */
export interface CardRefusal {
  readonly code:
    | 'card-import-unknown'
    | 'card-import-busy'
    | 'card-piece-misplaced'
    | 'card-too-large'
    | 'card-not-ready'
    | 'card-stored'
    | 'time-zone-unknown';
  readonly detail: string;
}

/** Takes in the logs of memory cards, step by step. Where it is not given, its routes do not exist. */
export interface CardPort {
  open(entry: {
    readonly node: FieldNode;
    readonly by: string;
    readonly files: readonly { readonly name: string; readonly bytes: number }[];
  }): Promise<CardImportJson>;
  /** The latest first, without previews. */
  list(): Promise<readonly CardImportJson[]>;
  find(id: number): Promise<CardImportJson | undefined>;
  /** A piece of a file, from that byte on. */
  bring(
    id: number,
    piece: { readonly place: number; readonly offset: number; readonly bytes: Uint8Array },
  ): Promise<Result<CardPieceJson, CardRefusal>>;
  /** Begins to read the files; `find` tells how far it is. */
  read(id: number, settings: CardSettingsJson): Promise<Result<CardImportJson, CardRefusal>>;
  /** Begins to store what was read. */
  store(id: number): Promise<Result<CardImportJson, CardRefusal>>;
  /** Ends reading or storing; what is stored stays. */
  stop(id: number): Promise<Result<CardImportJson, CardRefusal>>;
  /** Forgets the files, and the import if it stored nothing. */
  discard(id: number): Promise<Result<null, CardRefusal>>;
  conflicts(
    id: number,
    page: { readonly limit: number; readonly skip: number },
  ): Promise<CardConflictsJson>;
}
