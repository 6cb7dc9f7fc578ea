import type { AlertJson, SiteJson } from '@duskline/contract';
import { daySpan, sayMoment } from '@duskline/domain';
import { backSpan, stopSpan } from '../fleet/outlook-span.ts';
import { instantMs } from '../format/time.ts';
import { alertsToActOn } from '../fleet/summarise-site.ts';
import { siteText } from '../text/site.ts';

/** What a site that is not plainly well asks of whoever reads its page. */
export interface SiteAdvice {
  readonly kind: 'go' | 'wait' | 'not-this-node';
  readonly sentence: string;
}

const words = siteText.advice;
/** A chance of stopping within the week that is worth a word. */
const LIKELY = 0.3;

/**
 * Go, wait until when, or not this node at all: for whoever has never seen the site.
 *
 * @returns undefined for a site that is well, or no longer in use
 */
export function siteAdvice(site: SiteJson, nowMs: number): SiteAdvice | undefined {
  const { state, timeZone, outlook } = site;
  const [alert] = alertsToActOn(site);
  const paused = pausedAdvice(site);
  switch (state) {
    case 'link-down':
      return { kind: 'not-this-node', sentence: words.linkDown };
    case 'off-for-work':
      return { kind: 'wait', sentence: words.offForWork };
    case 'dark-as-designed':
    case 'overdue':
    case 'silent-unexplained': {
      if (alert !== undefined) return goFor(alert);
      if (paused !== undefined) return paused;
      if (state !== 'dark-as-designed') return { kind: 'wait', sentence: words.weighed };
      const back = backSpan(outlook);
      if (back === undefined) return { kind: 'wait', sentence: words.waitUnknown };
      return { kind: 'wait', sentence: words.waitUntil(daySpan(back, { timeZone, nowMs })) };
    }
    case 'up':
    case 'low':
      return alert === undefined ? (paused ?? mayStop(site, nowMs)) : goFor(alert);
    case 'not-yet-proved':
      return site.lastHeardAt === null
        ? { kind: 'not-this-node', sentence: words.neverHeard }
        : undefined;
    case 'retired':
      return undefined;
  }
}

function goFor({ byWhen, todo, takenBy, handed }: AlertJson): SiteAdvice {
  const who =
    takenBy !== null
      ? words.has(takenBy)
      : handed !== null
        ? words.handed(handed.to)
        : words.nobody;
  return { kind: 'go', sentence: words.go(byWhen, todo, who) };
}

function pausedAdvice({ alerts, timeZone }: SiteJson): SiteAdvice | undefined {
  const paused = alerts.find(({ state }) => state === 'paused')?.paused;
  if (paused === undefined || paused === null) return undefined;
  return {
    kind: 'wait',
    sentence: words.paused(sayMoment(instantMs(paused.until), timeZone), paused.by, paused.why),
  };
}

/** Not yet an alert, and no site to leave alone either: whoever plans the week is to know. */
function mayStop({ outlook, timeZone }: SiteJson, nowMs: number): SiteAdvice | undefined {
  const stops = stopSpan(outlook);
  if (stops === undefined || (outlook?.darkWithin7DaysProbability ?? 0) < LIKELY) return undefined;
  const fromMs = Math.max(nowMs, stops.fromMs);
  return {
    kind: 'wait',
    sentence: words.notToday(daySpan({ ...stops, fromMs }, { timeZone, nowMs })),
  };
}
