import {
  nodeId,
  ok,
  type Account,
  type Alert,
  type FieldNode,
  type LimitOverrides,
  type NodeName,
  type Role,
  type Rollup,
  type SiteId,
  type SiteView,
} from '@duskline/domain';
import { hashPassword } from '../src/access/passwords.ts';
import type { ApiDeps, KnownReading } from '../src/api-deps.ts';
import { sizingExamples } from '../src/openapi/sizing-examples.ts';
import { fakeLimitsBeneath } from './fake-limits-beneath.ts';
import {
  NOW_MS,
  PASSWORD,
  sha256,
  rushySluice,
  tarnGill,
  rushyNode,
  rushyAlert,
  rushyView,
  accountOf,
} from './example-fleet.ts';

/** A reading as a test writes it down: what it does not say is as usual. */
interface RawReading extends Partial<KnownReading> {
  readonly atMs: number;
  readonly value: number;
}

export * from './example-fleet.ts';

const HOUR = 3_600_000;
const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');

/** Ports that remember what they were told, in memory, as the real ones would in a database. */
export interface FakeFleet {
  readonly deps: ApiDeps;
  readonly views: Map<SiteId, SiteView>;
  readonly secrets: Map<NodeName, string>;
  readonly told: string[];
  readonly rawReadings: RawReading[];
  readonly rollups: Rollup[];
  /** Opens a session as the store would keep it. @returns the value of the cookie */
  openSession(role: Role): string;
  setNow(nowMs: number): void;
  failStore(error: Error | undefined): void;
}

/** One argon2 hash serves every account of every test: each costs some 30 ms. */
const passwordHash = hashPassword(PASSWORD);

export async function fakeFleet(overrides: Partial<ApiDeps> = {}): Promise<FakeFleet> {
  const hash = await passwordHash;
  const views = new Map<SiteId, SiteView>([
    [rushySluice.id, rushyView],
    [tarnGill.id, { site: tarnGill, version: 1, alerts: [] }],
  ]);
  const sessions = new Map<string, { account: Account; expiresAtMs: number }>();
  const tokens = new Map<
    string,
    { id: string; account: Account; name: string; expiresAtMs?: number }
  >();
  const secrets = new Map<NodeName, string>();
  const told: string[] = [];
  const rawReadings: RawReading[] = [];
  const limits = new Map<string, { limits: LimitOverrides; setBy: string; setAtMs: number }>();
  const rollups: Rollup[] = [];
  const alerts = new Map<string, Alert>([[rushyAlert.id, rushyAlert]]);
  let nowMs = NOW_MS;
  let opened = 0;
  let failure: Error | undefined;
  const answer = <T>(value: T): Promise<T> =>
    failure === undefined ? Promise.resolve(value) : Promise.reject(failure);
  const alive = <T extends { expiresAtMs?: number }>(one: T | undefined): T | undefined =>
    one !== undefined && (one.expiresAtMs ?? Infinity) > nowMs ? one : undefined;
  const changeAlert = (id: string, change: (alert: Alert) => Alert): Promise<Alert | undefined> => {
    const alert = alerts.get(id);
    if (alert === undefined) return answer(undefined);
    alerts.set(id, change(alert));
    return answer(alerts.get(id));
  };

  const deps: ApiDeps = {
    door: { secure: false },
    now: () => nowMs,
    ping: () => answer(undefined),
    readiness: [],
    views: {
      fleet: () => answer([...views.values()]),
      site: (id) => answer(views.get(id)),
      weekTraces: () => answer(new Map([[rushySluice.id, weekTrace()]])),
      days: () =>
        answer([
          {
            dayStartMs: Date.parse('2026-11-24T00:09:00Z'),
            harvestWh: 8.5,
            loadWh: 21.25,
            hoursHeard: 24,
          },
          { dayStartMs: Date.parse('2026-11-25T00:09:00Z'), loadWh: 6.5, hoursHeard: 7 },
        ]),
    },
    readings: {
      list: (
        _node,
        _metric,
        { fromMs, toMs, limit, newestFirst = false },
        { flags, unsureTimes },
      ) =>
        answer(
          rawReadings
            .map(({ flag = 1, timeQuality = 'synced', tests = [], ...reading }) => ({
              receivedAtMs: reading.atMs + 1000,
              flag,
              timeQuality,
              tests,
              ...reading,
            }))
            .filter(({ atMs }) => atMs >= fromMs && atMs < toMs)
            .filter(
              ({ flag, timeQuality }) =>
                unsureTimes === (timeQuality === 'unsure') && flags.includes(flag),
            )
            .sort((a, b) => (newestFirst ? b.atMs - a.atMs : a.atMs - b.atMs))
            .slice(0, limit),
        ),
    },
    rollups: {
      series: (_node, _metric, { fromMs, toMs, quality = [1] }) =>
        answer(
          quality.includes(1)
            ? rollups.filter(({ startMs }) => startMs >= fromMs && startMs < toMs)
            : [],
        ),
      counts: () => answer({ pass: 12, suspect: 3, fail: 1 }),
    },
    qualityLimits: {
      find: (scope) => answer(limits.get(JSON.stringify(scope))),
      inForce: () => answer([...limits.values()].map((one) => ({ limits: one.limits }))),
      set: (scope, setting) => {
        limits.set(JSON.stringify(scope), setting);
        return answer(undefined);
      },
    },
    qualityRules: (overrides) => [
      {
        test: 'spike',
        says: 'Far from the middle of the readings before and after it.',
        source: 'QARTOD manuals',
        limits: [
          {
            metric: 'batt_v',
            limit: `suspect above ${overrides.at(-1)?.limits.metrics?.batt_v?.spike?.suspect ?? 0.5} V`,
          },
        ],
      },
    ],
    faultsOfLimits: ({ metrics }) =>
      metrics?.batt_v?.spike?.suspect === 13 ? ['batt_v: thirteen is not allowed here.'] : [],
    limitsBeneath: fakeLimitsBeneath,
    latest: {
      of: () => answer([{ metric: 'batt_v', observedAtMs: NOW_MS - 60_000, value: 12.9 }]),
    },
    intervals: {
      list: () =>
        answer([
          {
            state: 'up',
            fromMs: Date.parse('2026-11-01T00:00:00Z'),
            toMs: Date.parse('2026-11-25T03:00:00Z'),
            cause: 'Heard as usual.',
            evidence: [],
          },
          {
            state: 'low',
            fromMs: Date.parse('2026-11-25T03:00:00Z'),
            cause: 'Charge is 30 %.',
            evidence: ['Four days of thick cloud.'],
          },
        ]),
    },
    alerts: {
      listOpen: () => answer([...alerts.values()].filter(({ state }) => state !== 'ended')),
      take: (id, by, atMs) =>
        changeAlert(id, (alert) =>
          alert.state === 'new'
            ? { ...alert, state: 'taken', takenAtMs: atMs, takenBy: by.name }
            : alert,
        ),
      seen: (id) =>
        changeAlert(id, (alert) =>
          alert.state === 'ended-unseen' ? { ...alert, state: 'ended' } : alert,
        ),
    },
    sites: {
      list: () => answer([...views.values()].map(({ site }) => site)),
      find: (id) => answer(views.get(id)?.site),
      create: (site) => {
        views.set(site.id, { site, version: 0, alerts: [] });
        return answer(site);
      },
      setLandOwner: (id, landOwner) => {
        const view = views.get(id);
        if (view === undefined) return answer(undefined);
        const { landOwner: _, ...rest } = view.site;
        const site = { ...rest, ...(landOwner === undefined ? {} : { landOwner }) };
        views.set(id, { ...view, site });
        return answer(site);
      },
    },
    nodes: {
      findByName: (name) =>
        answer([...views.values()].find(({ node }) => node?.name === name)?.node),
      create: (node, secretHash) => {
        const view = views.get(node.siteId);
        if (view === undefined) throw new Error('no such site');
        const made: FieldNode = { ...node, id: nodeId(views.size + 100) };
        views.set(node.siteId, { ...view, node: made });
        secrets.set(node.name, hex(secretHash));
        return answer(made);
      },
      setSecretHash: (name, secretHash) => {
        const known = [...views.values()].some(({ node }) => node?.name === name);
        if (known) secrets.set(name, hex(secretHash));
        return answer(known);
      },
    },
    quarantine: {
      list: ({ code = 'json-malformed' }) =>
        answer(
          code !== 'json-malformed'
            ? []
            : [
                {
                  id: '9',
                  firstReceivedAtMs: NOW_MS - 9000,
                  receivedAtMs: NOW_MS - 5000,
                  topic: 'v1/rushy-sluice-1/up/live',
                  node: rushyNode.name,
                  fault: { code: 'json-malformed', reason: 'The JSON ends in the middle.' },
                  payload: new TextEncoder().encode('[{"n":'),
                  count: 2,
                },
              ],
        ),
      summary: () =>
        answer({
          kept: 1,
          received: 2,
          overCap: 0,
          byCode: [{ code: 'json-malformed', kept: 1, received: 2 }],
          byNode: [{ node: rushyNode.name, kept: 1, received: 2 }],
        }),
      unknownNodes: () =>
        answer([
          {
            name: 'tarn-gill-2' as NodeName,
            firstSeenAtMs: NOW_MS - 9000,
            lastSeenAtMs: NOW_MS - 1000,
            times: 3,
          },
        ]),
    },
    replayQuarantine: ({ ids }) =>
      answer({ takenIn: ids?.length ?? 1, alreadyThere: 0, stillRefused: 0, more: false }),
    accounts: {
      findByEmail: (email) => {
        const account = everyRole.find((one) => one.email === email.toLowerCase());
        return answer(account === undefined ? undefined : { account, passwordHash: hash });
      },
      createSession: (id, tokenHash, expiresAtMs) => {
        const account = everyRole.find((one) => one.id === id);
        if (account !== undefined) sessions.set(hex(tokenHash), { account, expiresAtMs });
        return answer(undefined);
      },
      findSession: (tokenHash) => answer(alive(sessions.get(hex(tokenHash)))?.account),
      endSession: (tokenHash) => {
        sessions.delete(hex(tokenHash));
        return answer(undefined);
      },
      createToken: ({ accountId: id, name, tokenHash, expiresAtMs }) => {
        const account = everyRole.find((one) => one.id === id);
        if (account !== undefined)
          tokens.set(hex(tokenHash), {
            id: `token-${tokens.size + 1}`,
            account,
            name,
            ...(expiresAtMs === undefined ? {} : { expiresAtMs }),
          });
        return answer(undefined);
      },
      findToken: (tokenHash) => answer(alive(tokens.get(hex(tokenHash)))?.account),
    },
    tokens: {
      list: (id) =>
        answer(
          [...tokens.values()]
            .filter(({ account }) => account.id === id)
            .map(({ account: _owner, ...token }) => ({ ...token, createdAtMs: NOW_MS })),
        ),
      end: (owner, id) => {
        const found = [...tokens].find(
          ([, token]) => token.id === id && token.account.id === owner,
        );
        if (found !== undefined) tokens.delete(found[0]);
        return answer(found !== undefined);
      },
    },
    sizing: {
      size: () => ok(sizingExamples.sizing),
      runtime: () => ok(sizingExamples.runtime),
    },
    nightsBetween: (fromMs) => [
      [fromMs + 16 * HOUR, fromMs + 32 * HOUR],
      [fromMs + 40 * HOUR, fromMs + 56 * HOUR],
    ],
    newNodeSecret: () => `secret-${secrets.size + 1}`,
    hashSecret: sha256,
    onSessionEnd: (account) => told.push(`session ended: ${account.name}`),
    onNodeSecret: (name) => void told.push(`new secret: ${name}`),
    onAlert: (alert) => void told.push(`alert ${alert.id}: ${alert.state}`),
    ...overrides,
  };

  return {
    deps,
    views,
    secrets,
    told,
    rawReadings,
    rollups,
    openSession(role) {
      opened += 1;
      const token = `session-of-${role}-${opened}`;
      sessions.set(hex(sha256(token)), {
        account: accountOf(role),
        expiresAtMs: nowMs + 30 * 24 * HOUR,
      });
      return token;
    },
    setNow(atMs) {
      nowMs = atMs;
    },
    failStore(error) {
      failure = error;
    },
  };
}

const everyRole = (
  ['viewer', 'analyst', 'volunteer', 'builder', 'coordinator', 'keeper'] as const
).map(accountOf);

/** 169 hours; silent for the first day. */
const weekTrace = (): (number | null)[] =>
  Array.from({ length: 169 }, (_, i) => (i < 24 ? null : 0.5 - i / 1000));
