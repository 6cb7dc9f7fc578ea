import type {
  AccountId,
  SiteId,
  Visit,
  VisitHorizon,
  VisitPlan,
  VisitState,
  VisitStep,
  VisitVerdict,
} from '@duskline/domain';

/** A visit with what was found about it afterwards. */
export interface KeptVisit extends Visit {
  readonly verdicts: readonly VisitVerdict[];
  /** The plan of work as it stood when they set out. */
  readonly work?: unknown;
}

export interface VisitMove {
  /** When they mean to set out. */
  readonly plannedAtMs: number;
  readonly personId: AccountId;
  readonly why: string;
  /** Name of whoever moves it. */
  readonly by: string;
  readonly nowMs: number;
}

export interface VisitStore {
  /**
   * Keeps what is planned, and the logbook says so; a visit of the same id is kept once.
   *
   * @throws StoreConflictError when a site or person does not exist.
   */
  plan(plans: readonly Omit<VisitPlan, 'person'>[]): Promise<readonly KeptVisit[]>;
  find(id: string): Promise<KeptVisit | undefined>;
  /** Planned for, set out in or back in [fromMs, toMs); by the time planned. */
  list(filter: {
    readonly fromMs: number;
    readonly toMs: number;
    readonly siteId?: SiteId;
    readonly states?: readonly VisitState[];
  }): Promise<readonly KeptVisit[]>;
  /** The latest that was done, of every site. */
  lastDone(): Promise<ReadonlyMap<SiteId, number>>;
  /**
   * Adds steps, each once, and what follows from all of them; set out, back, notes and calling off go into the logbook, and
   * the node is looked at again.
   *
   * @param work kept from setting out on, the first that comes
   * @returns undefined when there is no such visit
   */
  step(
    id: string,
    steps: readonly VisitStep[],
    about: { readonly by: string; readonly nowMs: number; readonly work?: unknown },
  ): Promise<KeptVisit | undefined>;
  /**
   * Gives a visit that is only planned another time or person; it leaves its round; the reason stays with it, and the
   * logbook says so. What it is already changes nothing.
   *
   * @returns undefined when there is no such visit, or it is no longer only planned
   * @throws StoreConflictError when there is no such person
   */
  move(id: string, move: VisitMove): Promise<KeptVisit | undefined>;
  /** Set out, and not said to be back. */
  out(): Promise<readonly KeptVisit[]>;
  /** Is somebody at the site, or on the way to it or from it? */
  underWay(siteId: SiteId, nowMs: number): Promise<boolean>;
  /** Done before then, without a verdict of that horizon; the oldest first. */
  unjudged(horizon: VisitHorizon, beforeMs: number): Promise<readonly KeptVisit[]>;
  /** Keeps a verdict once, with a line in the logbook. @returns false when there is one already */
  judge(id: string, verdict: VisitVerdict, nowMs: number): Promise<boolean>;
}

export interface CalendarFeed {
  readonly accountId: AccountId;
  readonly madeAtMs: number;
}

/** One calendar address for a person; only its hash is kept. */
export interface CalendarFeedStore {
  of(accountId: AccountId): Promise<CalendarFeed | undefined>;
  /** The address before is over. */
  renew(accountId: AccountId, tokenHash: Uint8Array, nowMs: number): Promise<CalendarFeed>;
  /** Undefined: no such address, or its owner's account has ended. */
  find(tokenHash: Uint8Array): Promise<CalendarFeed | undefined>;
  /** @returns false when there was none */
  end(accountId: AccountId): Promise<boolean>;
}
