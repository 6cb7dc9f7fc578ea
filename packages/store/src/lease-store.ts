/** A lease by the database's clock. `fence` grows with every change of holder. */
export interface Lease {
  readonly fence: number;
}

/** A lease that was ever taken. `holder` is null when nobody holds it now, by the database's clock. */
export interface LeaseRow {
  readonly name: string;
  readonly holder: string | null;
}

export interface LeaseStore {
  /** Takes a lease that is free, has run out, or is held by `holder` already. */
  take(name: string, holder: string, ttlMs: number): Promise<Lease | undefined>;
  /** @returns false when the lease was lost: stop what it guards. */
  renew(name: string, holder: string, ttlMs: number): Promise<boolean>;
  release(name: string, holder: string): Promise<void>;
  /** By name. */
  list(prefix: string): Promise<readonly LeaseRow[]>;
  /** Frees whatever holders of that prefix hold: the earlier lives of a server that has come back. */
  releaseAllOf(holderPrefix: string): Promise<void>;
}
