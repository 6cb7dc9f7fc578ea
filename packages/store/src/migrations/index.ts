import type { Migration } from 'kysely';
import { sitesAndNodes } from './0001-sites-and-nodes.ts';
import { samples } from './0002-samples.ts';
import { whatFollowsFromSamples } from './0003-what-follows-from-samples.ts';
import { statesAndOutlooks } from './0004-states-and-outlooks.ts';
import { alerts } from './0005-alerts.ts';
import { quarantine } from './0006-quarantine.ts';
import { accountsAndLeases } from './0007-accounts-and-leases.ts';
import { whatOutlooksAreMadeOf } from './0008-what-outlooks-are-made-of.ts';
import { parts } from './0009-parts.ts';
import { outlookScores } from './0010-outlook-scores.ts';
import { quality } from './0011-quality.ts';
import { qualityLimits } from './0012-quality-limits.ts';
import { quarantineReplay } from './0013-quarantine-replay.ts';
import { ledgerPruning } from './0014-ledger-pruning.ts';
import { cardImports } from './0015-card-imports.ts';
import { alertLives } from './0016-alert-lives.ts';
import { yields } from './0017-yields.ts';
import { people } from './0018-people.ts';
import { outbox } from './0019-outbox.ts';
import { exports } from './0020-exports.ts';
import { settingsRequests } from './0021-settings-requests.ts';
import { visits } from './0022-visits.ts';
import { siteClimate } from './0023-site-climate.ts';
import { countsOfAllServers } from './0024-counts-of-all-servers.ts';
import { serverSecrets } from './0026-server-secrets.ts';
import { narrowSampleKey } from './0028-narrow-sample-key.ts';
import { photos } from './0030-photos.ts';
import { limitsOfParts } from './0031-limits-of-parts.ts';
import { movesAndLandOwners } from './0032-moves-and-land-owners.ts';
import { whoseAnAlertIs } from './0033-whose-an-alert-is.ts';
import { wordsThatHoldAfterwards } from './0035-words-that-hold-afterwards.ts';

/** In order. A migration that was released is never edited: write the next one. */
export const migrations: Readonly<Record<string, Migration>> = {
  '0001-sites-and-nodes': sitesAndNodes,
  '0002-samples': samples,
  '0003-what-follows-from-samples': whatFollowsFromSamples,
  '0004-states-and-outlooks': statesAndOutlooks,
  '0005-alerts': alerts,
  '0006-quarantine': quarantine,
  '0007-accounts-and-leases': accountsAndLeases,
  '0008-what-outlooks-are-made-of': whatOutlooksAreMadeOf,
  '0009-parts': parts,
  '0010-outlook-scores': outlookScores,
  '0011-quality': quality,
  '0012-quality-limits': qualityLimits,
  '0013-quarantine-replay': quarantineReplay,
  '0014-ledger-pruning': ledgerPruning,
  '0015-card-imports': cardImports,
  '0016-alert-lives': alertLives,
  '0017-yields': yields,
  '0018-people': people,
  '0019-outbox': outbox,
  '0020-exports': exports,
  '0021-settings-requests': settingsRequests,
  '0022-visits': visits,
  '0023-site-climate': siteClimate,
  '0024-counts-of-all-servers': countsOfAllServers,
  '0026-server-secrets': serverSecrets,
  '0028-narrow-sample-key': narrowSampleKey,
  '0030-photos': photos,
  '0031-limits-of-parts': limitsOfParts,
  '0032-moves-and-land-owners': movesAndLandOwners,
  '0033-whose-an-alert-is': whoseAnAlertIs,
  '0035-words-that-hold-afterwards': wordsThatHoldAfterwards,
};
