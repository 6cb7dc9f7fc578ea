import {
  createApi,
  createSignInThrottle,
  hashPassword,
  newApiToken,
  type ApiDeps,
} from '@duskline/api';
import { hashSecret } from '@duskline/broker';
import { SECOND_MS, permissions, type Account, type NodeId } from '@duskline/domain';
import { checkCustomBattery, nightsBetween } from '@duskline/energy';
import type { ReceiveStep } from '@duskline/intake';
import type { SendPoint } from '@duskline/notify';
import { faultsOfOverrides, limitsBeneath, limitsOverTime, qualityRules } from '@duskline/quality';
import {
  isDatabaseLost,
  migrateStore,
  openStore,
  startEmbeddedPostgres,
  type ClaimedCall,
} from '@duskline/store';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Logger } from 'pino';
import { answerSizing } from './answer-sizing.ts';
import { brokerAddress } from './broker-address.ts';
import { createCardDesk } from './card/card-desk.ts';
import { closeDoor } from './close-door.ts';
import { systemClock } from './clock.ts';
import type { Config } from './config.ts';
import { startLookBack } from './look-back.ts';
import { makeFirstAccount, type FirstAccount } from './first-account.ts';
import { createExportDesk } from './export/export-desk.ts';
import { createFleetLook } from './fleet-look.ts';
import { followChanges, type ChangeFollower } from './follow-changes.ts';
import { guardNames } from './guard-names.ts';
import { keepHouse } from './keep-house.ts';
import { openLine, type Line } from './open-line.ts';
import { createOutlookDesk } from './outlook-desk.ts';
import { createPipeline, type Pipeline } from './pipeline.ts';
import { createQuarantineReplay } from './replay-quarantine.ts';
import { createRoundDesk } from './rounds/round-desk.ts';
import { planDemoVisits } from './rounds/demo-visits.ts';
import { startVisitJudge } from './rounds/start-visit-judge.ts';
import { startSchedule, type Schedule } from './schedule.ts';
import { createSecretDesk } from './secret-desk.ts';
import { serverId } from './server-id.ts';
import { createServerMetrics } from './server-metrics.ts';
import { createSettingsDesk, sendSettingsAgain } from './settings-desk.ts';
import { createStoryDesk } from './story-desk.ts';
import { inviteDemoPeople } from './watch/demo-people.ts';
import { peopleHealth } from './watch/people-health.ts';
import { startWatch } from './watch/start-watch.ts';
import { vapidKeysOf } from './watch/ways-out.ts';

export interface RunningServer {
  readonly url: string;
  readonly mqttUrl: string;
  readonly makeFirstAccount: (email: string) => Promise<FirstAccount | undefined>;
  /** A token for the API that may do everything, shown this once. */
  readonly makeToken: (account: Account, name: string) => Promise<string>;
  /** The demo's invented people and their rota. */
  readonly inviteDemoPeople: () => Promise<void>;
  /** Invented visits of the demo, past and planned, once its sites are there. */
  readonly planDemoVisits: () => Promise<void>;
  /** Resolves when every node with news has been advanced. */
  readonly quiet: () => Promise<void>;
  /** Ends everything in the order that loses nothing; may be called twice. */
  readonly stop: () => Promise<void>;
}

/** What only tests of faults hand in. */
export interface ServerHooks {
  /** Told of each step of the intake, in the turn it is passed: whoever is told may end the process. */
  readonly onReceiveStep?: (step: ReceiveStep) => void;
  /** Told of each point of a delivery, which waits for what it returns. */
  readonly onSendPoint?: (point: SendPoint, call: ClaimedCall) => void | Promise<void>;
}

/** A sweep older than this means that nobody looks after the nodes. */
const SWEEP_LATE_MS = 60_000;

/**
 * Puts the parts together and starts them: database, pipeline, schedule, line, API, live. What was started is stopped again
 * when a later part cannot start.
 *
 * @throws errors whose message is a sentence for the person at the terminal (a taken port, a database that does not answer)
 */
export async function startServer(
  config: Config,
  log: Logger,
  hooks: ServerHooks = {},
): Promise<RunningServer> {
  const clock = systemClock;
  const stops: (() => Promise<void>)[] = [];
  let stopping: Promise<void> | undefined;
  const stop = () => (stopping ??= stopAll(stops, log));
  try {
    mkdirSync(config.dataDir, { recursive: true, mode: 0o700 });
    const databaseUrl = config.databaseUrl ?? (await startDatabase(config, log, stops));
    await migrateStore(databaseUrl);
    const store = await openStore({ url: databaseUrl });
    stops.push(() => store.close());

    const warnings = (await store.housekeeping.unsafeSettings()).map(
      (setting) =>
        `The database runs with ${setting} off: a power cut loses readings that nodes have deleted. Switch it on.`,
    );
    for (const warning of warnings) log.error(warning);
    const stopHousekeeping = keepHouse({
      store,
      holder: serverId(config.dataDir),
      log,
      now: clock.now,
    });
    stops.push(async () => stopHousekeeping());

    // The line needs the pipeline to receive, the pipeline needs the line to acknowledge, and news wake the schedule.
    const later: { line?: Line; wake?: (nodeId: NodeId) => void; sweepAgeMs?: () => number } = {};
    const fleet = createFleetLook(store, {
      holder: serverId(config.dataDir),
      startedAtMs: clock.now(),
      async health() {
        const { oldestUnsentMs, ...people } = await peopleHealth(store, clock.now());
        const brokerDown = later.line?.fault() !== undefined;
        return {
          ...people,
          server: { brokerDown, ...(oldestUnsentMs === undefined ? {} : { oldestUnsentMs }) },
        };
      },
    });
    const metrics = createServerMetrics({
      now: clock.now,
      intake: () => pipeline.figures(),
      sweepAgeMs: () => later.sweepAgeMs?.() ?? 0,
      newestOutlookAtMs: () => store.outlooks.newestAtMs(),
      outbox: store.outbox,
    });
    const pipeline: Pipeline = createPipeline({
      store,
      fleet,
      clock,
      sendAck: (node, place) => later.line?.sendAck(node, place),
      onNews: (nodeId) => later.wake?.(nodeId),
      onRejected: metrics.countRejected,
      ...(config.livePerSecond === undefined ? {} : { livePerSecond: config.livePerSecond }),
      ...(hooks.onReceiveStep === undefined ? {} : { onStep: hooks.onReceiveStep }),
    });
    stops.push(() => pipeline.idle());
    const schedule = startSchedule(pipeline, { log, now: clock.now });
    later.wake = schedule.wake;
    later.sweepAgeMs = schedule.sweepAgeMs;
    stops.push(() => schedule.stop());
    const visitJudge = startVisitJudge(store, { log, now: clock.now });
    stops.push(() => visitJudge.stop());
    const lookBack = startLookBack(store, { log, now: clock.now, isBusy: schedule.busy });
    stops.push(() => lookBack.stop());
    const line = await openLine(config, {
      store,
      receive: pipeline.receive,
      log,
      now: clock.now,
      serverId: serverId(config.dataDir),
    });
    later.line = line;
    stops.push(() => line.close());
    await sendSettingsAgain(store, line.sendSettings);

    const secrets = createSecretDesk(line);
    const door = doorOf(config);
    const followed: { changes?: ChangeFollower } = {};
    const cards = createCardDesk({
      store,
      folder: join(config.dataDir, 'cards'),
      now: clock.now,
      log,
      onNews: schedule.wake,
    });
    await cards.recover();
    stops.push(() => cards.close());
    const exportDesk = createExportDesk({
      store,
      folder: join(config.dataDir, 'exports'),
      holder: serverId(config.dataDir),
      now: clock.now,
      log,
    });
    await exportDesk.recover();
    stops.push(() => exportDesk.close());
    const watch = startWatch(config, {
      store,
      now: clock.now,
      log,
      sweepAgeMs: schedule.sweepAgeMs,
      lineFault: line.fault,
      vapid: await vapidKeysOf(store, config.dataDir),
      ...(hooks.onSendPoint === undefined ? {} : { onSendPoint: hooks.onSendPoint }),
    });
    stops.push(() => watch.stop());
    const api = await createApi({
      ...store,
      watch: watch.desk,
      trips: createRoundDesk(store, clock.now),
      cards,
      throttle: createSignInThrottle(store.signInCounts),
      exports: exportDesk,
      metrics: metrics.port,
      ...(config.securityContacts === undefined
        ? {}
        : {
            securityContact: {
              contacts: config.securityContacts,
              ...(config.http.publicUrl === undefined ? {} : { publicUrl: config.http.publicUrl }),
            },
          }),
      nodes: guardNames(store.nodes),
      outlookDesk: createOutlookDesk(store, clock.now),
      settings: createSettingsDesk({ store, send: line.sendSettings, now: clock.now }),
      story: createStoryDesk(store),
      door,
      now: clock.now,
      ping: () => store.ping(),
      readiness: readinessOf(line, schedule),
      warnings: () => warnings,
      nightsBetween,
      checkBattery: checkCustomBattery,
      qualityRules: (overrides, atMs) => qualityRules(limitsOverTime(overrides).at(atMs)),
      faultsOfLimits: faultsOfOverrides,
      limitsBeneath,
      sizing: answerSizing,
      replayQuarantine: createQuarantineReplay({
        store,
        now: clock.now,
        onNews: schedule.wake,
        sendAck: line.sendAck,
      }),
      newNodeSecret: secrets.issue,
      brokerAddress: () => brokerAddress(line.url, config),
      hashSecret,
      isDatabaseLost,
      onNodeSecret: secrets.hand,
      onAlert: (alert) => followed.changes?.onAlert(alert),
      onSessionEnd: (account) => followed.changes?.onSessionEnd(account),
      logger: log,
    });
    stops.push(() => closeDoor(api));
    followed.changes = await followChanges(api.server, { store, clock, log, door });
    stops.push(() => followed.changes?.stop() ?? Promise.resolve());
    const url = await api.listen({ host: config.http.host, port: config.http.port });
    watch.open(config.http.publicUrl ?? url);

    return {
      url: config.http.publicUrl ?? url,
      mqttUrl: line.url,
      makeFirstAccount: (email) => makeFirstAccount(store, hashPassword, email),
      async makeToken(account, name) {
        const { token, hash } = newApiToken(permissions);
        await store.accounts.createToken({ accountId: account.id, name, tokenHash: hash });
        return token;
      },
      inviteDemoPeople: () => inviteDemoPeople(store, clock.now()),
      planDemoVisits: () => planDemoVisits(store, clock.now()),
      quiet: () => schedule.quiet(),
      stop,
    };
  } catch (cause) {
    await stop();
    throw cause;
  }
}

function doorOf({ http, webRoot, tiles }: Config): ApiDeps['door'] {
  return {
    secure: http.publicUrl?.startsWith('https:') ?? false,
    ...(http.publicUrl === undefined ? {} : { origins: [new URL(http.publicUrl).origin] }),
    ...(webRoot === undefined ? {} : { webRoot }),
    ...(tiles === undefined ? {} : { tiles }),
  };
}

function readinessOf(line: Line, schedule: Schedule): ApiDeps['readiness'] {
  const sweepFault = () =>
    schedule.sweepAgeMs() > SWEEP_LATE_MS
      ? `The last sweep over the nodes ended ${Math.round(schedule.sweepAgeMs() / SECOND_MS)} s ago.`
      : undefined;
  return [
    { name: 'broker', fault: () => Promise.resolve(line.fault()) },
    { name: 'sweep', fault: () => Promise.resolve(sweepFault()) },
  ];
}

async function startDatabase(
  config: Config,
  log: Logger,
  stops: (() => Promise<void>)[],
): Promise<string> {
  const database = await startEmbeddedPostgres({
    dataDir: join(config.dataDir, 'postgres'),
    log: (message) => log.debug(message),
    onGivenUp: (error) => log.fatal({ error }, 'the embedded database could not be brought back'),
  });
  stops.push(() => database.stop());
  return database.url;
}

async function stopAll(stops: readonly (() => Promise<void>)[], log: Logger): Promise<void> {
  for (const stopOne of [...stops].reverse()) {
    try {
      await stopOne();
    } catch (cause) {
      log.warn({ cause }, 'a part did not stop cleanly');
    }
  }
}
