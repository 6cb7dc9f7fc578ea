import { createTokenStore } from './account-tokens.ts';
import { createAccountStore } from './accounts.ts';
import { createAlertStore } from './alerts.ts';
import { createCalendarFeedStore } from './calendar-feeds.ts';
import { createCardImportStore } from './card-import.ts';
import { createReadingStore } from './checked-readings.ts';
import { commitAdvance } from './commit-advance.ts';
import { commitFleet } from './commit-fleet.ts';
import { openDatabase } from './database/open-database.ts';
import { createDayMeanStore } from './day-means.ts';
import { createExportStore } from './export-samples.ts';
import { createIntervalStore } from './intervals.ts';
import { createHousekeeping } from './housekeeping.ts';
import { createLatestStore } from './latest.ts';
import { createLayouts } from './layouts.ts';
import { createLeaseStore } from './leases.ts';
import { createLearntStore } from './learnt.ts';
import { createListen } from './listen.ts';
import { createMarkStore } from './marks.ts';
import { createServerSecretStore } from './server-secrets.ts';
import { createNodeStore } from './nodes.ts';
import { createOutlookStore } from './outlooks.ts';
import { createOutsideForecastStore } from './outside-forecasts.ts';
import { createOutboxStore } from './outbox.ts';
import { createPartStore } from './parts.ts';
import { createPhotoStore } from './photos.ts';
import { createPeopleStore } from './people.ts';
import { createQuarantineStore } from './quarantine.ts';
import { createQualityLimitStore } from './quality-limits.ts';
import { createRollupStore } from './rollups.ts';
import { createAuditStore, createRotaStore, createSiteGroupStore } from './rota.ts';
import { createSampleStore } from './samples.ts';
import type { Tables } from './schema.ts';
import { createScoreStore } from './scores.ts';
import { createSettingsRequestStore } from './settings-requests.ts';
import { createSignInCountStore } from './sign-in-counts.ts';
import { createSignStore } from './signs.ts';
import { createSiteStore } from './sites.ts';
import type { Store, StoreOptions } from './store.ts';
import { createViewStore } from './views.ts';
import { createVisitStore } from './visits.ts';
import {
  createAcceptedGapStore,
  createDiagnosisStore,
  createEventStore,
  createRuleSettingStore,
} from './watch.ts';

/**
 * Opens the store on a database that migrateStore has brought up to date.
 *
 * @throws what the driver throws when the database does not answer.
 */
export async function openStore(options: StoreOptions): Promise<Store> {
  const database = openDatabase<Tables>({ ...options, url: withSettings(options.url) });
  const { sql, kysely } = database;
  const layouts = createLayouts(sql);
  const ping = async (): Promise<void> => {
    await sql`select 1`;
  };
  try {
    await ping();
  } catch (error) {
    await database.close();
    throw error;
  }
  return {
    close: () => database.close(),
    ping,
    samples: createSampleStore(sql, layouts),
    quarantine: createQuarantineStore(sql),
    rollups: createRollupStore(database, layouts),
    readings: createReadingStore(sql, layouts),
    qualityLimits: createQualityLimitStore(sql),
    dayMeans: createDayMeanStore(sql),
    latest: createLatestStore(sql, layouts),
    intervals: createIntervalStore(sql, layouts),
    sites: createSiteStore(kysely),
    nodes: createNodeStore(sql, kysely),
    outlooks: createOutlookStore(database),
    learnt: createLearntStore(sql),
    outsideForecasts: createOutsideForecastStore(sql),
    parts: createPartStore(sql),
    photos: createPhotoStore(sql),
    scores: createScoreStore(sql),
    alerts: createAlertStore(sql),
    events: createEventStore(sql),
    acceptedGaps: createAcceptedGapStore(sql),
    ruleSettings: createRuleSettingStore(sql),
    diagnoses: createDiagnosisStore(sql),
    signs: createSignStore(sql),
    settingsRequests: createSettingsRequestStore(sql),
    views: createViewStore(sql),
    visits: createVisitStore(database),
    calendarFeeds: createCalendarFeedStore(sql),
    accounts: createAccountStore(kysely),
    tokens: createTokenStore(sql),
    signInCounts: createSignInCountStore(sql),
    people: createPeopleStore(sql),
    siteGroups: createSiteGroupStore(sql),
    rota: createRotaStore(sql),
    outbox: createOutboxStore(sql),
    marks: createMarkStore(sql),
    serverSecrets: createServerSecretStore(sql),
    audit: createAuditStore(sql),
    leases: createLeaseStore(sql),
    housekeeping: createHousekeeping(sql),
    cardImports: createCardImportStore(database, layouts),
    exportReads: createExportStore(sql),
    commitAdvance: (advance) => commitAdvance(database, advance),
    commitFleet: (advance) => commitFleet(database, advance),
    listen: createListen(sql),
  };
}

/**
 * Settings of every connection. Each statement is planned for its own values: a plan made for batches of any size takes
 * a batch of 500 for one of ten and joins it row by row. And none is compiled: that takes longer than ours run. A commit is on
 * disk when it is reported: what it acknowledges is deleted elsewhere.
 */
const withSettings = (url: string): string =>
  `${url}${url.includes('?') ? '&' : '?'}plan_cache_mode=force_custom_plan&jit=off&synchronous_commit=on`;
