import {
  accountId,
  type Account,
  type AcceptedMessage,
  type FieldNode,
  type MetricKey,
  type NodeName,
  type Site,
  type SiteId,
} from '@duskline/domain';
import type { Store } from '@duskline/store';

export const keeper: Account = {
  id: accountId('00000000-0000-4000-8000-000000000001'),
  email: 'keeper@greywater.example',
  name: 'Keeper',
  role: 'keeper',
};
export const analyst: Account = {
  id: accountId('00000000-0000-4000-8000-000000000002'),
  email: 'analyst@greywater.example',
  name: 'Analyst',
  role: 'analyst',
};

/** A site whose name is written to be run by a spreadsheet, and to break lines and quotes. */
export const HOSTILE_NAME = '=HYPERLINK("http://x.example","Weir, upper")\r\nsecond line';

export const GAP_S = 300;
export const START_MS = Date.UTC(2026, 9, 24);
export const DAYS = 3;
/** Over the night in which the clocks go back in Europe/London, 25 October 2026 01:00 UTC. */
export const END_MS = START_MS + DAYS * 86_400_000;

const metrics: readonly MetricKey[] = ['air_temp', 'batt_v', 'charge', 'rain', 'wind_dir'];

export async function makeSite(
  store: Store,
  id: string,
  name: string,
): Promise<{ site: Site; node: FieldNode }> {
  const site = await store.sites.create({
    id: id as SiteId,
    name,
    position: { latitudeDeg: 54.71234, longitudeDeg: -2.31234, elevationM: 412 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  const node = await store.nodes.create(
    {
      name: `${id}-1` as NodeName,
      siteId: site.id,
      commissionedAtMs: START_MS - 86_400_000,
      power: {
        panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 154, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.03,
        usualGapS: GAP_S,
      },
    },
    new Uint8Array(32),
  );
  return { site, node };
}

/** Readings every five minutes; those of `silentFrom` to `silentTo` are missing. @returns how many readings there are */
export async function fill(
  store: Store,
  node: FieldNode,
  {
    silentFrom = 0,
    silentTo = 0,
  }: { readonly silentFrom?: number; readonly silentTo?: number } = {},
): Promise<number> {
  const messages: AcceptedMessage[] = [];
  let readings = 0;
  for (let at = START_MS; at < END_MS; at += GAP_S * 1000) {
    if (at >= silentFrom && at < silentTo) continue;
    const i = (at - START_MS) / (GAP_S * 1000);
    readings += metrics.length;
    messages.push({
      node: node.name,
      lane: 'backlog',
      receivedAtMs: END_MS + i,
      place: { boot: 1, seq: i + 1 },
      samples: [
        {
          observedAtMs: at + (i === 7 ? 250 : 0),
          metrics,
          // -12.3 must stay a number; 350 and 10 degrees lie around north.
          values: [i % 2 === 0 ? -12.3 : 4.1, 12.81, 55, 0.2, i % 2 === 0 ? 350 : 10],
          timeQuality: i === 9 ? 'unsure' : 'synced',
        },
      ],
    });
  }
  for (let from = 0; from < messages.length; from += 400)
    await store.samples.accept(messages.slice(from, from + 400));
  return readings;
}
