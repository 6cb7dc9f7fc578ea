import type {
  LearntJson,
  LearntResetJson,
  NewOutsideForecastJson,
  OutlookInputsJson,
  OutlookListJson,
  OutsideForecastJson,
  OutsideForecastListJson,
  ScoreJson,
  SeasonJson,
  WhatHelpsJson,
  WhatIfAnswerJson,
  WhatIfJson,
} from '@duskline/contract';
import type {
  Account,
  FieldNode,
  NodeId,
  Part,
  PartKind,
  PowerSystem,
  Result,
  SiteId,
} from '@duskline/domain';

/** Why a forecast from outside was not taken. */
export type OutsideFault =
  | { readonly kind: 'invalid'; readonly pointer: string; readonly detail: string }
  /** An outlook was made of one of the same source and time: that is never changed. */
  | { readonly kind: 'in-use' };

/** Everything about outlooks that needs the forecaster. Answers are the contract's shapes. */
export interface OutlookDesk {
  learnt(node: FieldNode): Promise<LearntJson>;
  reset(node: FieldNode, reset: LearntResetJson, by: Account): Promise<LearntJson>;
  /** A part came in the place of another: what was learnt of it begins anew. */
  partReplaced(
    node: FieldNode,
    part: { readonly kind: PartKind; readonly atMs: number },
    by: Account,
  ): Promise<void>;
  outlooks(
    node: FieldNode,
    range: { readonly fromMs: number; readonly toMs: number },
  ): Promise<OutlookListJson>;
  /** Undefined: no such outlook, or what it was made of was not kept. */
  inputs(node: FieldNode, id: string): Promise<OutlookInputsJson | undefined>;
  /** Where one of these three is not given, its route does not exist. */
  readonly whatIf?: (node: FieldNode, change: WhatIfJson) => Promise<WhatIfAnswerJson | undefined>;
  readonly whatHelps?: (node: FieldNode) => Promise<WhatHelpsJson>;
  readonly season?: (node: FieldNode) => Promise<SeasonJson>;
  outside(siteId: SiteId): Promise<OutsideForecastListJson>;
  /** @param forecast a text is the small file */
  addOutside(
    siteId: SiteId,
    forecast: NewOutsideForecastJson | string,
    by: Account,
  ): Promise<Result<OutsideForecastJson, OutsideFault>>;
  score(question: {
    readonly days: number;
    readonly of: ScoreJson['of'];
    readonly node?: FieldNode;
  }): Promise<ScoreJson>;
}

type NewPart = Omit<Part, 'id' | 'removedAtMs' | 'replacedBy'>;
interface PowerChange {
  readonly nodeId: NodeId;
  readonly power: PowerSystem;
}

export interface PartPort {
  /** Those at the site first. */
  list(siteId: SiteId): Promise<readonly Part[]>;
  find(id: string): Promise<Part | undefined>;
  /** @throws an Error named StoreConflictError when the same thing is fitted already. */
  add(part: NewPart, change?: PowerChange): Promise<Part>;
  /** Undefined: no such part at the site any more. */
  replace(id: string, next: NewPart, change?: PowerChange): Promise<Part | undefined>;
  remove(id: string, atMs: number): Promise<Part | undefined>;
}
