import type { FieldSheetJson, RoundsJson } from '@duskline/contract';
import type {
  AccountId,
  SiteId,
  Visit,
  VisitPlan,
  VisitState,
  VisitStep,
  VisitVerdict,
} from '@duskline/domain';

export interface KeptVisitFacts extends Visit {
  readonly verdicts: readonly VisitVerdict[];
  /** The sheet as it stood when they set out. */
  readonly work?: unknown;
}

/** Rounds, visits, and the calendars people subscribe to. The store has most of it under the same names. */
export interface RoundsPort {
  readonly rounds: (
    from: { readonly latitudeDeg: number; readonly longitudeDeg: number } | undefined,
    reader: {
      readonly sees: (siteId: SiteId) => boolean;
      /** False: places are blurred before any distance is worked out, since distances tell places. */
      readonly seesPlaces: boolean;
    },
  ) => Promise<RoundsJson>;
  /** Undefined: no such site. */
  readonly sheet: (siteId: SiteId) => Promise<FieldSheetJson | undefined>;
  readonly visits: {
    /** @throws an Error named StoreConflictError when a site or person does not exist. */
    plan(plans: readonly Omit<VisitPlan, 'person'>[]): Promise<readonly KeptVisitFacts[]>;
    find(id: string): Promise<KeptVisitFacts | undefined>;
    list(filter: {
      readonly fromMs: number;
      readonly toMs: number;
      readonly siteId?: SiteId;
      readonly states?: readonly VisitState[];
    }): Promise<readonly KeptVisitFacts[]>;
    /** Undefined: no such visit, or it is no longer only planned. @throws an Error named StoreConflictError: no such person. */
    move(
      id: string,
      move: {
        readonly plannedAtMs: number;
        readonly personId: AccountId;
        readonly why: string;
        readonly by: string;
        readonly nowMs: number;
      },
    ): Promise<KeptVisitFacts | undefined>;
    step(
      id: string,
      steps: readonly VisitStep[],
      about: { readonly by: string; readonly nowMs: number; readonly work?: unknown },
    ): Promise<KeptVisitFacts | undefined>;
  };
  readonly calendarFeeds: {
    of(accountId: AccountId): Promise<{ readonly madeAtMs: number } | undefined>;
    renew(
      accountId: AccountId,
      tokenHash: Uint8Array,
      nowMs: number,
    ): Promise<{ readonly madeAtMs: number }>;
    find(tokenHash: Uint8Array): Promise<{ readonly accountId: AccountId } | undefined>;
    end(accountId: AccountId): Promise<boolean>;
  };
}
