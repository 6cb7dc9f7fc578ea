import type { AlertHealthJson } from '@duskline/contract';
import type {
  AcceptedGap,
  Account,
  AccountId,
  Alert,
  AlertId,
  AlertState,
  AlertStep,
  CallKind,
  ChannelKind,
  DataPlan,
  NodeId,
  Person,
  PersonChannel,
  Priority,
  Role,
  Shift,
  ShiftSwap,
  SiteGroup,
  SiteId,
  WorkNotice,
} from '@duskline/domain';
import type { TakeUpJson } from '@duskline/contract';

export interface KeptInvitation {
  readonly id: string;
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  readonly groups: readonly string[];
  readonly by: string;
  readonly expiresAtMs: number;
}

export interface KeptMessage {
  readonly key: string;
  readonly kind: CallKind;
  readonly alertId?: AlertId;
  readonly priority: Priority;
  readonly personId: AccountId;
  readonly channelKind?: ChannelKind;
  readonly state: 'due' | 'sent' | 'dead' | 'superseded' | 'no-channel';
  readonly createdAtMs: number;
  readonly dueAtMs: number;
  readonly settledAtMs?: number;
  readonly attempts: number;
  readonly error?: string;
  readonly body: { readonly text: string };
}

interface SettingInForce {
  readonly scope: 'fleet' | 'site' | 'node';
  readonly subject: string;
  readonly rule: string;
  readonly setting: string;
  readonly value: number | null;
  readonly by: string;
  readonly atMs: number;
}

/** A rule as the page of rules shows it. */
export interface RuleWords {
  readonly key: string;
  readonly name: string;
  readonly why: string;
  readonly who: string;
  readonly aboutFleet: boolean;
  readonly settings: Readonly<
    Record<
      string,
      {
        readonly default: number;
        readonly unit: string;
        readonly low: number;
        readonly high: number;
        readonly says: string;
      }
    >
  >;
}

export interface DutySpan {
  readonly shiftId: string;
  readonly start: string;
  readonly fromMs: number;
  readonly untilMs: number;
  readonly personId: AccountId;
  readonly groupId?: string;
  /** By the rota it is this person's. */
  readonly insteadOf?: AccountId;
}

export interface RotaGapSpan {
  readonly fromMs: number;
  readonly untilMs: number;
  readonly groupId?: string;
  readonly says: string;
}

/** What somebody did to the house. */
interface AuditRow {
  readonly atMs: number;
  readonly kind: string;
  readonly by?: string;
  readonly ip?: string;
  readonly subject: string;
  readonly before?: unknown;
  readonly after?: unknown;
}

export interface PeoplePort {
  list(): Promise<readonly Person[]>;
  find(id: AccountId): Promise<Person | undefined>;
  change(
    id: AccountId,
    change: {
      readonly name?: string;
      readonly phone?: string;
      readonly timeZone?: string;
      readonly quiet?: Person['quiet'];
      readonly role?: Role;
      readonly groups?: readonly string[];
    },
  ): Promise<Person | undefined>;
  end(id: AccountId, nowMs: number): Promise<boolean>;
  addChannel(
    id: AccountId,
    channel: {
      readonly kind: ChannelKind;
      readonly address: string;
      readonly keys?: Readonly<Record<string, string>>;
    },
  ): Promise<PersonChannel>;
  endChannel(id: AccountId, channelId: string, nowMs: number): Promise<boolean>;
  invitations(nowMs: number): Promise<readonly KeptInvitation[]>;
  invite(
    invitation: Omit<KeptInvitation, 'id'> & { readonly tokenHash: Uint8Array },
  ): Promise<KeptInvitation>;
  findInvitation(tokenHash: Uint8Array, nowMs: number): Promise<KeptInvitation | undefined>;
  acceptInvitation(
    tokenHash: Uint8Array,
    person: Omit<TakeUpJson, 'password'> & { readonly passwordHash: string },
    nowMs: number,
  ): Promise<Account | undefined>;
  endInvitation(id: string): Promise<boolean>;
}

export interface SiteGroupPort {
  list(): Promise<readonly SiteGroup[]>;
  create(name: string, siteIds: readonly SiteId[]): Promise<SiteGroup>;
  change(id: string, name: string, siteIds: readonly SiteId[]): Promise<SiteGroup | undefined>;
  remove(id: string): Promise<boolean>;
}

export interface RotaPort {
  shifts(): Promise<readonly Shift[]>;
  add(shift: Omit<Shift, 'id' | 'exceptions' | 'swaps'>): Promise<Shift>;
  end(id: string, nowMs: number): Promise<boolean>;
  except(id: string, start: string): Promise<Shift | undefined>;
  swap(
    id: string,
    swap: ShiftSwap,
    by: { readonly name: string; readonly atMs: number },
  ): Promise<Shift | undefined>;
}

export interface MessagePort {
  list(filter: {
    readonly alertId?: AlertId;
    readonly personId?: AccountId;
    readonly limit: number;
  }): Promise<readonly KeptMessage[]>;
  channels(): Promise<
    readonly {
      readonly breaker: string;
      readonly failures: number;
      readonly openUntilMs?: number;
      readonly error?: string;
      readonly failedAtMs?: number;
      readonly sentAtMs?: number;
    }[]
  >;
  findLink(tokenHash: Uint8Array, nowMs: number): Promise<LinkOwner | undefined>;
  useLink(tokenHash: Uint8Array, nowMs: number): Promise<LinkOwner | undefined>;
}

interface LinkOwner {
  readonly alertId: AlertId;
  readonly personId: AccountId;
}

/** Alerts, people, rota and rules. Functions only; the store has most of them under the same names. */
export interface WatchPorts {
  readonly alerts: {
    find(id: AlertId): Promise<Alert | undefined>;
    /** Of one node, those not over. */
    open(node: NodeId): Promise<readonly Alert[]>;
    step(
      id: AlertId,
      step: AlertStep,
      by: Account,
      nowMs: number,
    ): Promise<
      | { readonly kind: 'done'; readonly alert: Alert }
      | { readonly kind: 'not-now'; readonly alert: Alert; readonly why: string }
      | { readonly kind: 'no-such-alert' }
    >;
    history(id: AlertId): Promise<
      readonly {
        readonly atMs: number;
        readonly kind: string;
        readonly state: AlertState;
        readonly priority: Priority;
        readonly by?: string;
        readonly why: string;
      }[]
    >;
  };
  readonly people: PeoplePort;
  readonly siteGroups: SiteGroupPort;
  readonly rota: RotaPort;
  readonly outbox: MessagePort;
  readonly audit: {
    add(entry: AuditRow): Promise<void>;
    list(limit: number, beforeMs?: number): Promise<readonly AuditRow[]>;
  };
  readonly acceptedGaps: {
    list(nowMs: number, siteId?: SiteId): Promise<readonly AcceptedGap[]>;
    accept(gap: Omit<AcceptedGap, 'id' | 'endedAtMs'>): Promise<AcceptedGap>;
    end(id: string, nowMs: number): Promise<AcceptedGap | undefined>;
  };
  readonly ruleSettings: {
    inForce(): Promise<readonly SettingInForce[]>;
    history(limit: number): Promise<readonly SettingInForce[]>;
    set(entry: SettingInForce): Promise<void>;
  };
  readonly marks: {
    set(
      siteId: SiteId,
      marks: {
        readonly critical?: boolean;
        readonly link?: string | null;
        readonly dataPlan?: DataPlan | null;
        readonly offForWork?: WorkNotice | null;
      },
    ): Promise<void>;
  };
  readonly rules: readonly RuleWords[];
  /** Duties that touch [fromMs, toMs), and the stretches of it in which nobody is on call. */
  readonly rotaBetween: (
    shifts: readonly Shift[],
    groups: readonly SiteGroup[],
    range: { readonly fromMs: number; readonly toMs: number },
  ) => { readonly duties: readonly DutySpan[]; readonly gaps: readonly RotaGapSpan[] };
  /** What is wrong with a recurrence, in a sentence. */
  readonly faultOfShift: (shift: Omit<Shift, 'id' | 'exceptions' | 'swaps'>) => string | undefined;
  readonly handOverNote: (nowMs: number) => Promise<string>;
  readonly alertHealth: (nowMs: number, days: number) => Promise<AlertHealthJson>;
  /** Kinds of channel that were set up. */
  readonly waysOut: readonly ChannelKind[];
  readonly pushKey?: string;
  /** What is wrong with an address, in a sentence. */
  readonly faultOfAddress: (kind: ChannelKind, address: string) => string | undefined;
  readonly newWebhookSecret: () => string;
  /** Puts a test message for that channel into the outbox. */
  readonly sendTest: (person: Person, channel: PersonChannel) => Promise<void>;
}
