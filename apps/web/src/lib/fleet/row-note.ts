import type { SiteJson } from '@duskline/contract';
import { daySpan, needsSomeone } from '@duskline/domain';
import { text } from '../text/en.ts';
import { backSpan, stopSpan, stopsSoon } from './outlook-span.ts';
import { alertsToActOn, summariseSite } from './summarise-site.ts';

/** The site's own name at the head of a sentence says nothing in its own row. */
const withoutName = (sentence: string, name: string): string =>
  sentence.startsWith(`${name} `) ? sentence.slice(name.length + 1) : sentence;

function backNote({ outlook, timeZone, state }: SiteJson, nowMs: number): string | undefined {
  if (outlook?.back?.kind === 'out-of-reach')
    return outlook.harvestStop === undefined
      ? text.note.outOfReach(outlook.horizonDays)
      : text.note.unmended(outlook.harvestStop.cause);
  const span = backSpan(outlook);
  if (span === undefined) return undefined;
  const days = daySpan(span, { timeZone, nowMs });
  return state === 'overdue' ? text.note.backPast(days) : text.note.back(days);
}

/** The short italic note on the free paper of a row; undefined when the row says enough. */
export function rowNote(site: SiteJson, nowMs: number): string | undefined {
  const { outlook, timeZone, state } = site;
  if (state === 'dark-as-designed') return backNote(site, nowMs) ?? site.stateCause ?? undefined;
  if (state === 'overdue') return site.stateCause ?? backNote(site, nowMs);
  const stops = stopSpan(outlook);
  if (stops !== undefined && stopsSoon(outlook, nowMs)) {
    const fromMs = Math.max(nowMs, stops.fromMs);
    return text.note.stops(daySpan({ ...stops, fromMs }, { timeZone, nowMs }));
  }
  const [alert] = alertsToActOn(site);
  if (state === 'up' && alert !== undefined) return withoutName(alert.sentence, site.name);
  if (state !== 'up' || needsSomeone(summariseSite(site))) return site.stateCause ?? undefined;
  if (outlook?.kind === 'insufficient-data')
    return text.note.tooLittle(outlook.have ?? 0, outlook.need ?? 0, outlook.missing ?? '');
  return undefined;
}
