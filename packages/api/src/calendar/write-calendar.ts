import { visitStateWord, type Site, type SiteId, type VisitState } from '@duskline/domain';
import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator';
import type { KeptVisitFacts } from '../rounds-port.ts';
import type { DutySpan } from '../watch-port.ts';

export interface CalendarFacts {
  readonly person: string;
  readonly visits: readonly KeptVisitFacts[];
  readonly duties: readonly (DutySpan & { readonly person: string })[];
  readonly siteOf: ReadonlyMap<SiteId, Site>;
  /** Where people reach this server; undefined: it is not known. */
  readonly origin?: string;
}

/** A visit whose end nobody has said takes as long as a morning. */
const USUAL_VISIT_MS = 3 * 3_600_000;

const statusOf: Readonly<Record<VisitState, ICalEventStatus>> = {
  planned: ICalEventStatus.TENTATIVE,
  'under-way': ICalEventStatus.CONFIRMED,
  done: ICalEventStatus.CONFIRMED,
  'called-off': ICalEventStatus.CANCELLED,
};

/**
 * Visits and duties as a calendar to subscribe to (RFC 5545; PUBLISH of RFC 5546). Every event keeps its UID, and the same
 * facts give the same bytes. All times are UTC: no zone has to be described.
 */
export function writeCalendar({ person, visits, duties, siteOf, origin }: CalendarFacts): string {
  const calendar = ical({
    name: `Duskline: ${person}`,
    prodId: { company: 'duskline', product: 'visits and rota', language: 'EN' },
    method: ICalCalendarMethod.PUBLISH,
    ttl: 3600,
  });
  for (const visit of visits) {
    const site = siteOf.get(visit.siteId);
    const startMs = visit.setOutAtMs ?? visit.plannedAtMs;
    const endMs = visit.backAtMs ?? visit.backByMs ?? startMs + USUAL_VISIT_MS;
    calendar.createEvent({
      id: `visit-${visit.id}@duskline`,
      start: new Date(startMs),
      end: new Date(Math.max(endMs, startMs + 60_000)),
      stamp: new Date(visit.backAtMs ?? visit.setOutAtMs ?? visit.madeAtMs),
      summary: `Visit: ${site?.name ?? visit.siteId}, ${visit.person} (${visitStateWord[visit.state]})`,
      description: [visit.why, site?.access ?? '', site?.hazards ?? '']
        .filter((text) => text !== '')
        .join('\n'),
      ...(site === undefined ? {} : { location: placeOf(site) }),
      ...(origin === undefined ? {} : { url: `${origin}/visits/${visit.id}` }),
      status: statusOf[visit.state],
    });
  }
  for (const duty of duties)
    calendar.createEvent({
      id: `duty-${duty.shiftId}-${duty.start.replaceAll(/[^0-9]/g, '')}@duskline`,
      start: new Date(duty.fromMs),
      end: new Date(duty.untilMs),
      stamp: new Date(duty.fromMs),
      summary: `On call: ${duty.person}`,
    });
  return calendar.toString();
}

const placeOf = ({ name, position }: Site) => ({
  title: name,
  geo: { lat: position.latitudeDeg, lon: position.longitudeDeg },
});
