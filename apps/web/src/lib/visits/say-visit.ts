import type { VisitJson } from '@duskline/contract';
import { dayName, sayMoment } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import { visitText } from '../text/visit.ts';

const words = visitText.coming;

/** "planned for Sat 28 Nov 09:00 UTC by Ash Harrow": after the word visit. Times are those of the site. */
export function sayVisit({ state, plannedAt, backBy, person, timeZone }: VisitJson): string {
  const moment = (iso: string): string => sayMoment(instantMs(iso), timeZone);
  return state === 'under-way'
    ? words.underWay(person, moment(backBy ?? plannedAt))
    : words.planned(moment(plannedAt), person);
}

/** "A visit was planned for Wed 25 Nov 09:00 UTC by Ash Harrow; nobody has said what became of it." */
export const sayUntold = (
  { at, person }: { readonly at: string; readonly person: string },
  timeZone: string,
): string => words.untold(sayMoment(instantMs(at), timeZone), person);

/** "visit tomorrow": a mark for a row. The day is that of the site. */
export const sayVisitShortly = (
  { state, plannedAt, timeZone }: VisitJson,
  nowMs: number,
): string =>
  state === 'under-way'
    ? words.now
    : words.shortly(dayName(instantMs(plannedAt), { timeZone, nowMs }));
