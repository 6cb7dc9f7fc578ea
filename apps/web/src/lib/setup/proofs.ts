import type { SitePageJson } from '@duskline/contract';
import { metric, metricOf, MINUTE_MS, SECOND_MS } from '@duskline/domain';
import { metricValue, withUnit } from '../format/quantity.ts';
import { ageText, instantMs } from '../format/time.ts';
import { proofText as words } from '../text/proof.ts';

export const proofKinds = [
  'message',
  'harvest',
  'clock',
  'signal',
  'sensors',
  'offStateDraw',
] as const;
export type ProofKind = (typeof proofKinds)[number];

/** One thing a new node has to show. `untold`: it sends nothing that could show it. */
export interface Proof {
  readonly kind: ProofKind;
  readonly verdict: 'proved' | 'waiting' | 'wrong' | 'untold';
  /** What was seen, or what to do. */
  readonly sentence: string;
}

/** A clock further off than this dates readings into the wrong minute. */
const CLOCK_MS = MINUTE_MS;
/** Weaker than this, links of small radios drop out in rain and leaf (common practice, no source). */
const WEAK_DBM = -110;
/** A panel gives this much by moonlight and lamp; more is daylight (common practice, no source). */
const DAYLIGHT_W = 0.05;

type Latest = SitePageJson['latest'];
const valueOf = (latest: Latest, key: string): number | undefined =>
  latest.find((one) => one.metric === key)?.value;

function message({ row }: SitePageJson, nowMs: number): Omit<Proof, 'kind'> {
  const { lastHeardAt } = row.site;
  if (lastHeardAt === null) return { verdict: 'waiting', sentence: words.message.waiting };
  const age = ageText(nowMs - instantMs(lastHeardAt));
  return { verdict: 'proved', sentence: words.message.proved(age) };
}

function harvest({ latest, days }: SitePageJson): Omit<Proof, 'kind'> {
  const panelW = valueOf(latest, 'panel_w');
  const seenWh = Math.max(0, ...days.map((day) => day.harvestWh ?? 0));
  if (panelW !== undefined && panelW > DAYLIGHT_W)
    return { verdict: 'proved', sentence: words.harvest.proved(withUnit(panelW, 'W')) };
  if (seenWh > DAYLIGHT_W)
    return { verdict: 'proved', sentence: words.harvest.seen(withUnit(seenWh, 'Wh')) };
  return { verdict: 'waiting', sentence: words.harvest.waiting };
}

/** By its own word where it gives one, else by how far its newest reading lies from when it was heard. */
function clock({ row, latest, power }: SitePageJson): Omit<Proof, 'kind'> {
  const said = valueOf(latest, 'clock_offset');
  const newestMs = Math.max(...latest.map((one) => instantMs(one.observedAt)));
  const { lastHeardAt } = row.site;
  if (lastHeardAt === null || latest.length === 0)
    return { verdict: 'waiting', sentence: words.clock.waiting };
  const offMs = said === undefined ? newestMs - instantMs(lastHeardAt) : said * SECOND_MS;
  // What it last said may be one message old: that is no error of its clock.
  const allowedMs = said === undefined ? CLOCK_MS + (power?.usualGapS ?? 0) * SECOND_MS : CLOCK_MS;
  return Math.abs(offMs) <= allowedMs
    ? { verdict: 'proved', sentence: words.clock.proved }
    : { verdict: 'wrong', sentence: words.clock.wrong(ageText(Math.abs(offMs))) };
}

function signal({ row, latest }: SitePageJson): Omit<Proof, 'kind'> {
  const dBm = valueOf(latest, 'signal');
  if (row.site.lastHeardAt === null) return { verdict: 'waiting', sentence: words.signal.waiting };
  if (dBm === undefined) return { verdict: 'untold', sentence: words.signal.untold };
  const shown = withUnit(dBm, 'dBm', 0);
  return dBm >= WEAK_DBM
    ? { verdict: 'proved', sentence: words.signal.proved(shown) }
    : { verdict: 'wrong', sentence: words.signal.wrong(shown) };
}

function sensors({ latest }: SitePageJson): Omit<Proof, 'kind'> {
  if (latest.length === 0) return { verdict: 'waiting', sentence: words.sensors.waiting };
  const outside = latest.filter((one) => {
    const key = metricOf(one.metric);
    if (key === undefined) return false;
    const [low, high] = metric(key).span;
    return one.value < low || one.value > high;
  });
  if (outside.length > 0) {
    const list = outside.map(
      (one) => `${one.label} ${metricValue(one.metric, one.value, one.unit)}`,
    );
    return { verdict: 'wrong', sentence: words.sensors.wrong(list.join(', ')) };
  }
  if (valueOf(latest, 'batt_v') === undefined && valueOf(latest, 'charge') === undefined)
    return { verdict: 'wrong', sentence: words.sensors.noBattery };
  return { verdict: 'proved', sentence: words.sensors.proved(latest.length) };
}

function offStateDraw({ power }: SitePageJson): Omit<Proof, 'kind'> {
  const drawW = power?.offStateDrawW ?? 0;
  return drawW > 0
    ? { verdict: 'proved', sentence: words.offStateDraw.proved(withUnit(drawW, 'W', 3)) }
    : { verdict: 'wrong', sentence: words.offStateDraw.wrong };
}

/** What a new node has shown so far, in the order in which it shows it. */
export function proofsOf(page: SitePageJson, nowMs: number): readonly Proof[] {
  return [
    { kind: 'message', ...message(page, nowMs) },
    { kind: 'harvest', ...harvest(page) },
    { kind: 'clock', ...clock(page) },
    { kind: 'signal', ...signal(page) },
    { kind: 'sensors', ...sensors(page) },
    { kind: 'offStateDraw', ...offStateDraw(page) },
  ];
}

/** May whoever brought it up climb down? What it cannot tell does not hold them up. */
export const isProved = (proofs: readonly Proof[]): boolean =>
  proofs.every(({ verdict }) => verdict === 'proved' || verdict === 'untold');
