import type { VisitJson } from '@duskline/contract';
import { isUntold, sayDay, sayMoment } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import { visitText } from '../text/visit.ts';
import type { Goer } from './who-may-go.ts';

/**
 * What is to be said before a second visit of one site is planned: somebody means to go there already, or the same person was
 * there that day. It forbids nothing.
 *
 * @param there  visits of the site, of any state
 * @param atMs   when the new one is to set out
 * @returns empty where it is the only one
 */
export function secondVisit(
  there: readonly VisitJson[],
  { goer, atMs, nowMs }: { readonly goer: Goer; readonly atMs: number; readonly nowMs: number },
): string {
  const words = visitText.plan;
  // Whoever asks may not be in the list of people: then by name.
  const isTheirs = ({ personId, person }: VisitJson): boolean =>
    goer.id === '' ? person === goer.name : personId === goer.id;
  const open = there.filter(
    ({ state, plannedAt }) =>
      state === 'under-way' ||
      (state === 'planned' && !isUntold({ state, plannedAtMs: instantMs(plannedAt) }, nowMs)),
  );
  const moment = ({ plannedAt, timeZone }: VisitJson): string =>
    sayMoment(instantMs(plannedAt), timeZone);
  const own = open.find(isTheirs);
  if (own !== undefined) return words.ownAlready(own.person, moment(own));
  const wasThere = there.find(
    (visit) =>
      visit.backAt !== null &&
      isTheirs(visit) &&
      sayDay(instantMs(visit.backAt), visit.timeZone) === sayDay(atMs, visit.timeZone),
  );
  if (wasThere?.backAt != null)
    return words.wasThere(
      wasThere.person,
      sayMoment(instantMs(wasThere.backAt), wasThere.timeZone),
    );
  const [other] = open;
  return other === undefined ? '' : words.otherAlready(other.person, moment(other));
}
