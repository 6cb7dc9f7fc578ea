import type { BrokerAddressJson, OwnBatteryJson } from '@duskline/contract';
import type {
  Account,
  AccountId,
  Alert,
  AlertId,
  BatteryChemistry,
  DayBalance,
  FieldNode,
  LandOwner,
  LatestReading,
  LimitOverrides,
  LimitsBeneath,
  MetricKey,
  NodeId,
  NodeInterval,
  NodeName,
  QualityFlag,
  QualityTest,
  Rollup,
  Site,
  SiteId,
  SiteView,
  TimedOverrides,
  TimeQuality,
} from '@duskline/domain';
import type { FastifyBaseLogger } from 'fastify';
import type { OutlookDesk, PartPort } from './outlook-desk.ts';
import type { PhotoPort } from './photo-port.ts';
import type { SignInThrottle } from './access/sign-in-throttle.ts';
import type { SettingsPort } from './settings-port.ts';
import type { StoryPort } from './story-port.ts';
import type { WatchPorts } from './watch-port.ts';
import type { SizingPort } from './sizing-port.ts';
import type { CardPort } from './card-port.ts';
import type { ExportPort } from './export-port.ts';
import type { MetricsPort } from './metrics-port.ts';
import type { RoundsPort } from './rounds-port.ts';
import type { QuarantinePort, ReplayQuarantine } from './quarantine-port.ts';

/** What the API reads of the fleet. Site, state, outlook and alerts come together: see SiteView. */
export interface ViewPort {
  /** By name. */
  fleet(): Promise<readonly SiteView[]>;
  site(siteId: SiteId): Promise<SiteView | undefined>;
  /**
   * Hourly mean charge (0–1), index i = hour of `fromMs` + i; null where nothing is known.
   * `siteIds` is a hint that only these are wanted; more may be returned.
   */
  weekTraces(
    fromMs: number,
    toMs: number,
    siteIds?: readonly SiteId[],
  ): Promise<ReadonlyMap<SiteId, readonly (number | null)[]>>;
  /** Oldest first; days without any reading may be absent. */
  days(siteId: SiteId, fromMs: number, toMs: number): Promise<readonly DayBalance[]>;
}

interface RollupRange {
  readonly fromMs: number;
  readonly toMs: number;
  readonly grain: 'hour' | 'day';
}

/** How many readings there are of each quality; `pass` counts the untested too. */
export interface QualityCounts {
  readonly pass: number;
  readonly suspect: number;
  readonly fail: number;
}

/** A reading with all that is known of it. */
export interface KnownReading {
  readonly atMs: number;
  readonly receivedAtMs: number;
  readonly saidTimeS?: number;
  readonly value: number;
  readonly flag: QualityFlag;
  readonly timeQuality: TimeQuality;
  readonly tests: readonly QualityTest[];
}

export type LimitScope =
  | { readonly kind: 'site'; readonly name: string }
  | { readonly kind: 'node'; readonly name: string }
  | { readonly kind: 'part'; readonly id: string };

interface LimitSetting {
  readonly limits: LimitOverrides;
  readonly setBy: string;
  readonly setAtMs: number;
}

/** Limits of the quality tests, and what they come to. */
export interface QualityPorts {
  readonly qualityLimits: {
    find(scope: LimitScope): Promise<LimitSetting | undefined>;
    /** Of the node's site, then its own, then of the parts of the site, with the time they were fitted. */
    inForce(nodeId: NodeId): Promise<readonly TimedOverrides[]>;
    /** Every reading concerned is tested again. */
    set(scope: LimitScope, setting: LimitSetting): Promise<void>;
  };
  /** Every test with the limits that follow from these overrides for readings of that time. */
  readonly qualityRules: (
    overrides: readonly TimedOverrides[],
    atMs: number,
  ) => readonly {
    readonly test: QualityTest;
    readonly says: string;
    readonly source: string;
    readonly limits: readonly { readonly metric: MetricKey; readonly limit: string }[];
  }[];
  /** What is wrong with overrides, in sentences. */
  readonly faultsOfLimits: (overrides: LimitOverrides) => readonly string[];
  /** What holds where nothing more particular is set than these, the more particular last. */
  readonly limitsBeneath: (
    layers: readonly { readonly from: 'site' | 'node'; readonly limits: LimitOverrides }[],
  ) => LimitsBeneath;
}

export interface ReadingPorts {
  readonly readings: {
    /** The first `limit` readings of [fromMs, toMs), oldest first unless the newest are wanted first. */
    list(
      nodeId: NodeId,
      metric: MetricKey,
      range: {
        readonly fromMs: number;
        readonly toMs: number;
        readonly limit: number;
        readonly newestFirst?: boolean;
      },
      filter: { readonly flags: readonly QualityFlag[]; readonly unsureTimes: boolean },
    ): Promise<readonly KnownReading[]>;
  };
  readonly rollups: {
    /** Hours or days that start in [fromMs, toMs), oldest first, of readings of that quality (1 passed or untested). */
    series(
      nodeId: NodeId,
      metric: MetricKey,
      range: RollupRange & { readonly quality?: readonly (1 | 3 | 4)[] },
    ): Promise<readonly Rollup[]>;
    counts(nodeId: NodeId, metric: MetricKey, range: RollupRange): Promise<QualityCounts>;
  };
  readonly latest: { of(nodeId: NodeId): Promise<readonly LatestReading[]> };
  readonly intervals: {
    /** Oldest first. */
    list(nodeId: NodeId, fromMs: number, toMs: number): Promise<readonly NodeInterval[]>;
  };
}

export interface AlertPort {
  /** Not over, or over and seen by nobody yet. */
  listOpen(): Promise<readonly Alert[]>;
  /** Undefined: no such alert. */
  take(id: AlertId, by: Account, nowMs: number): Promise<Alert | undefined>;
  seen(id: AlertId, by: Account, nowMs: number): Promise<Alert | undefined>;
}

export interface SetupPorts {
  readonly sites: {
    list(): Promise<readonly Site[]>;
    find(id: SiteId): Promise<Site | undefined>;
    /** @throws an Error named StoreConflictError when the id is taken. */
    create(site: Site): Promise<Site>;
    /** @param owner undefined: nobody any more. @returns undefined when there is no such site */
    setLandOwner(id: SiteId, owner: LandOwner | undefined): Promise<Site | undefined>;
  };
  readonly nodes: {
    findByName(name: NodeName): Promise<FieldNode | undefined>;
    /** @throws an Error named StoreConflictError when the name is taken. */
    create(node: Omit<FieldNode, 'id'>, secretHash: Uint8Array): Promise<FieldNode>;
    /** @returns false when there is no such node. */
    setSecretHash(name: NodeName, hash: Uint8Array): Promise<boolean>;
  };
  readonly quarantine: QuarantinePort;
}

export interface AccountPort {
  findByEmail(
    email: string,
  ): Promise<{ readonly account: Account; readonly passwordHash: string } | undefined>;
  createSession(accountId: AccountId, tokenHash: Uint8Array, expiresAtMs: number): Promise<void>;
  /** Undefined when there is none or it has expired. */
  findSession(tokenHash: Uint8Array): Promise<Account | undefined>;
  endSession(tokenHash: Uint8Array): Promise<void>;
  createToken(token: {
    readonly accountId: AccountId;
    readonly name: string;
    readonly tokenHash: Uint8Array;
    readonly expiresAtMs?: number;
  }): Promise<void>;
  /** Undefined when there is none or it has expired. */
  findToken(tokenHash: Uint8Array): Promise<Account | undefined>;
}

/** Looking through one's tokens and ending them. Where it is not given, those two routes do not exist. */
export interface TokenListPort {
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

/** One thing without which the server cannot do its work. */
export interface ReadinessCheck {
  readonly name: 'broker' | 'migrations' | 'sweep';
  /** @returns why it is not in order, in one plain sentence; undefined when it is */
  readonly fault: () => Promise<string | undefined>;
}

/** How the server is reached. */
export interface DoorSettings {
  /** People reach it by https: cookies are `__Host-` and Secure, HSTS is sent. False: plain http in a local network. */
  readonly secure: boolean;
  /** Further origins that may change state with a session cookie, e.g. the one the web app is developed on. */
  readonly origins?: readonly string[];
  /** Addresses of the proxies in front (CIDR); without it forwarding headers are not believed. */
  readonly trustProxy?: string | string[];
  /** Folder of the built web app. It may appear, or be built anew, while the server runs. */
  readonly webRoot?: string;
  /** The operator's own map; without it pages draw a coast line that comes with the app, and ask nobody else for anything. */
  readonly tiles?: { readonly url: string; readonly credit: string };
}

/** All that the API needs. Functions only; `Store` of @duskline/store has most of them under the same names. */
export interface ApiDeps extends ReadingPorts, QualityPorts, SetupPorts {
  readonly door: DoorSettings;
  readonly now: () => number;
  /** The store answers, or this throws. */
  readonly ping: () => Promise<void>;
  readonly readiness: readonly ReadinessCheck[];
  /** What does not keep the server from its work and is to be put right all the same, in sentences. */
  readonly warnings?: () => readonly string[];
  readonly views: ViewPort;
  readonly alerts: AlertPort;
  readonly accounts: AccountPort;
  /** Where these two are not given, the routes that need them do not exist. */
  readonly parts?: PartPort;
  readonly photos?: PhotoPort;
  readonly outlookDesk?: OutlookDesk;
  readonly tokens?: TokenListPort;
  readonly settings?: SettingsPort;
  readonly story?: StoryPort;
  readonly watch?: WatchPorts;
  readonly sizing?: SizingPort;
  readonly cards?: CardPort;
  readonly exports?: ExportPort;
  readonly metrics?: MetricsPort;
  /** Whom to tell of a weakness, as `mailto:`, `https:` or `tel:`. */
  readonly securityContact?: { readonly contacts: readonly string[]; readonly publicUrl?: string };
  readonly trips?: RoundsPort;
  /** Stretches of night in [fromMs, toMs), in order. */
  readonly nightsBetween: (
    fromMs: number,
    toMs: number,
    latitudeDeg: number,
    longitudeDeg: number,
  ) => readonly (readonly [startMs: number, endMs: number])[];
  readonly replayQuarantine: ReplayQuarantine;
  readonly newNodeSecret: () => string;
  /** What is wrong with a builder's own battery, each with how to mend it. */
  readonly checkBattery?: (
    battery: OwnBatteryJson & {
      readonly like: BatteryChemistry;
      readonly seriesCells: number;
      readonly ratedWh: number;
    },
  ) => readonly { readonly where: string; readonly what: string; readonly mend: string }[];
  /** Where nodes publish; default: MQTT's own port on the host that was asked. */
  readonly brokerAddress?: () => BrokerAddressJson;
  readonly hashSecret: (secret: string) => Uint8Array;
  /** Does this error say that the database is away, and not that something is wrong with the question? */
  readonly isDatabaseLost?: (error: unknown) => boolean;
  /** Default: counted in this process. */
  readonly throttle?: SignInThrottle;
  /** A person signed out: end what else hangs on the session. */
  readonly onSessionEnd?: (account: Account) => void;
  /** A node was made or has a new secret: whoever holds the old one is to be sent away. */
  readonly onNodeSecret?: (name: NodeName, secretHash: Uint8Array) => void | Promise<void>;
  /** An alert was taken or seen: whoever looks at it wants to know. */
  readonly onAlert?: (alert: Alert) => void | Promise<void>;
  readonly logger?: FastifyBaseLogger;
  readonly version?: string;
}
