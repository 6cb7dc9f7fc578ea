import type { SiteJson } from '@duskline/contract';
import { daySpan } from '@duskline/domain';
import { backSpan } from '../fleet/outlook-span.ts';
import { alertsToActOn } from '../fleet/summarise-site.ts';
import { siteText } from '../text/site.ts';

/** What a silent site asks of whoever reads its page. */
export interface SiteAdvice {
  readonly kind: 'go' | 'wait' | 'not-this-node';
  readonly sentence: string;
}

const words = siteText.advice;

/**
 * Go, wait until when, or not this node at all: for whoever has never seen the site.
 *
 * @returns undefined for a site that is heard, or not yet or no longer in use
 */
export function siteAdvice(site: SiteJson, nowMs: number): SiteAdvice | undefined {
  const { state, timeZone, outlook } = site;
  const [alert] = alertsToActOn(site);
  switch (state) {
    case 'link-down':
      return { kind: 'not-this-node', sentence: words.linkDown };
    case 'off-for-work':
      return { kind: 'wait', sentence: words.offForWork };
    case 'dark-as-designed':
    case 'overdue':
    case 'silent-unexplained': {
      if (alert !== undefined)
        return { kind: 'go', sentence: words.go(alert.byWhen, alert.todo, alert.takenBy) };
      if (state !== 'dark-as-designed') return { kind: 'wait', sentence: words.weighed };
      const back = backSpan(outlook);
      if (back === undefined) return { kind: 'wait', sentence: words.waitUnknown };
      return { kind: 'wait', sentence: words.waitUntil(daySpan(back, { timeZone, nowMs })) };
    }
    case 'up':
    case 'low':
    case 'not-yet-proved':
    case 'retired':
      return undefined;
  }
}
