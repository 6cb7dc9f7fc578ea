import {
  asksForVisit,
  planFieldWork,
  siteNeed,
  visitPurpose,
  type FieldWork,
  type SiteNeed,
} from '@duskline/alerts';
import type { FieldSheetJson, SiteNeedJson } from '@duskline/contract';
import { sayMoment, sayPercent, type ChargeEstimate } from '@duskline/domain';
import { daylightFrom } from './daylight.ts';
import type { SiteInNeed } from './round-facts.ts';

const DAYS_OF_DAYLIGHT = 8;

const instant = (atMs: number): string => new Date(atMs).toISOString();

/** All that somebody needs at a site. It is read before they leave and kept on their phone. */
export function fieldSheet({ view, facts }: SiteInNeed): FieldSheetJson {
  const { site, node, verdict, charge } = view;
  const alerts = view.alerts.filter(asksForVisit);
  const work = workAt({ view, facts });
  const need = siteNeed(facts);
  return {
    siteId: site.id,
    siteName: site.name,
    latitudeDeg: site.position.latitudeDeg,
    longitudeDeg: site.position.longitudeDeg,
    elevationM: site.position.elevationM,
    timeZone: site.timeZone,
    access: site.access,
    hazards: site.hazards,
    ...(site.landOwner === undefined ? {} : { landOwner: { ...site.landOwner } }),
    node: node?.name ?? null,
    madeAt: instant(facts.nowMs),
    state:
      verdict === undefined
        ? null
        : {
            state: verdict.state,
            since: instant(verdict.sinceMs),
            cause: verdict.cause,
            settledBy: verdict.settledBy ?? null,
            evidence: [...verdict.evidence],
          },
    chargeSays: charge === undefined ? null : sayCharge(charge, site.timeZone),
    lastHeardAt: view.lastHeardAtMs === undefined ? null : instant(view.lastHeardAtMs),
    need: needJson(need),
    purpose: visitPurpose(facts, need, work),
    alerts: alerts.map(({ text }) => ({
      sentence: text.sentence,
      todo: text.todo,
      bring: text.bring,
    })),
    causes: work.causes.map(({ cause, name, probability, steps }) => ({
      cause,
      name,
      probability: probability ?? null,
      steps: steps.map((step) => ({ ...step })),
    })),
    first: work.first.map((step) => ({ ...step })),
    last: work.last.map((step) => ({ ...step })),
    bring: work.bring.map((thing) => ({ ...thing })),
    cautions: work.cautions.map((caution) => ({ ...caution })),
    daylight: daylightFrom(site.position, facts.nowMs, DAYS_OF_DAYLIGHT).map((day) => ({
      from: instant(day.fromMs),
      until: instant(day.untilMs),
    })),
  };
}

/** What to bring and to do, by what alerts and diagnosis say now. */
export const workAt = ({ view, facts }: SiteInNeed): FieldWork =>
  planFieldWork({
    rules: view.alerts.filter(asksForVisit).map(({ rule }) => rule),
    ...(view.node === undefined ? {} : { power: view.node.power }),
    ...(facts.silence === undefined ? {} : { silence: facts.silence }),
    ...(facts.power === undefined ? {} : { charging: facts.power }),
  });

export function needJson(need: SiteNeed): SiteNeedJson {
  const atMs = need.kind === 'by' ? need.atMs : need.kind === 'no-need' ? need.untilMs : undefined;
  return {
    kind: need.kind,
    at: atMs === undefined ? null : instant(atMs),
    ...(need.kind === 'by' && need.pausedUntilMs !== undefined
      ? { pausedUntil: instant(need.pausedUntilMs) }
      : {}),
    because: [...need.because],
  };
}

const sayCharge = (charge: ChargeEstimate, timeZone: string): string =>
  `Charge ${sayPercent(charge.ratio)} (${sayPercent(charge.lowRatio)} to ${sayPercent(charge.highRatio)}), at ${sayMoment(charge.observedAtMs, timeZone)}.`;
