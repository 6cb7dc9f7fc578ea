import type {
  Account,
  AccountId,
  ChannelKind,
  Person,
  PersonChannel,
  QuietHours,
  Role,
  Shift,
  ShiftSwap,
  SiteGroup,
  SiteId,
} from '@duskline/domain';

export interface PersonChange {
  readonly name?: string;
  readonly phone?: string;
  readonly timeZone?: string;
  readonly quiet?: QuietHours;
  readonly role?: Role;
  /** All of them. */
  readonly groups?: readonly string[];
}

export interface NewInvitation {
  readonly tokenHash: Uint8Array;
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  readonly groups: readonly string[];
  readonly by: string;
  readonly expiresAtMs: number;
}

export interface Invitation extends Omit<NewInvitation, 'tokenHash'> {
  readonly id: string;
}

/** Keys of a push subscription, or `secret` of a webhook. Never shown again. */
export type ChannelKeys = Readonly<Record<string, string>>;

export interface NewChannel {
  readonly kind: ChannelKind;
  readonly address: string;
  readonly keys?: ChannelKeys;
}

export interface PeopleStore {
  /** By name; those whose account was ended come too. */
  list(): Promise<readonly Person[]>;
  find(id: AccountId): Promise<Person | undefined>;
  /** @returns undefined when there is none */
  change(id: AccountId, change: PersonChange): Promise<Person | undefined>;
  /** Ends the account with its sessions, tokens and channels. @returns false when there is none, or it has ended */
  end(id: AccountId, nowMs: number): Promise<boolean>;
  /** An address given a second time comes to life again. */
  addChannel(id: AccountId, channel: NewChannel): Promise<PersonChannel>;
  endChannel(id: AccountId, channelId: string, nowMs: number): Promise<boolean>;
  /** Waiting to be used, the latest first. */
  invitations(nowMs: number): Promise<readonly Invitation[]>;
  /** A second invitation of the same address ends the first. */
  invite(invitation: NewInvitation): Promise<Invitation>;
  findInvitation(tokenHash: Uint8Array, nowMs: number): Promise<Invitation | undefined>;
  /**
   * Makes the account, once.
   *
   * @returns undefined when the link is not known, used or over
   * @throws StoreConflictError when the address has an account.
   */
  acceptInvitation(
    tokenHash: Uint8Array,
    person: { readonly name: string; readonly passwordHash: string; readonly timeZone: string },
    nowMs: number,
  ): Promise<Account | undefined>;
  endInvitation(id: string): Promise<boolean>;
}

export interface SiteGroupStore {
  /** By name. */
  list(): Promise<readonly SiteGroup[]>;
  /** @throws StoreConflictError when the name is taken or a site does not exist. */
  create(name: string, siteIds: readonly SiteId[]): Promise<SiteGroup>;
  /** @returns undefined when there is none. @throws StoreConflictError as create */
  change(id: string, name: string, siteIds: readonly SiteId[]): Promise<SiteGroup | undefined>;
  remove(id: string): Promise<boolean>;
}

export interface RotaStore {
  /** Those that were not ended. */
  shifts(): Promise<readonly Shift[]>;
  /** @throws StoreConflictError when person or group does not exist. */
  add(shift: Omit<Shift, 'id' | 'exceptions' | 'swaps'>): Promise<Shift>;
  end(id: string, nowMs: number): Promise<boolean>;
  /** One occurrence does not take place. */
  except(id: string, start: string): Promise<Shift | undefined>;
  /** Somebody else does one occurrence. @throws StoreConflictError when that person does not exist. */
  swap(
    id: string,
    swap: ShiftSwap,
    by: { readonly name: string; readonly atMs: number },
  ): Promise<Shift | undefined>;
}

/** One thing that somebody did to the house and not to a node. */
export interface AuditEntry {
  readonly atMs: number;
  /** `sign-in`, `sign-in-refused`, `role`, `credential`, `rule`, `rota`, `group`, `account-ended`, `invitation` … */
  readonly kind: string;
  readonly by?: string;
  readonly ip?: string;
  readonly subject: string;
  readonly before?: unknown;
  readonly after?: unknown;
}

/** Rows are added and never changed. */
export interface AuditStore {
  add(entry: AuditEntry): Promise<void>;
  /** The latest first. */
  list(limit: number, beforeMs?: number): Promise<readonly AuditEntry[]>;
}

export interface TokenStore {
  /** The latest first. */
  list(accountId: AccountId): Promise<
    readonly {
      readonly id: string;
      readonly name: string;
      readonly createdAtMs: number;
      readonly expiresAtMs?: number;
    }[]
  >;
  /** @returns false when that account has no such token. */
  end(accountId: AccountId, id: string): Promise<boolean>;
}
