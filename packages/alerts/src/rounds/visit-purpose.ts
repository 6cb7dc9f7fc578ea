import { sayPercent } from '@duskline/domain';
import { EVERY_VISIT, type FieldWork } from './plan-field-work.ts';
import { alertDueMs, asksForVisit, type SiteNeed, type SiteNeedFacts } from './site-need.ts';

/** As long as the reason of a visit may be. */
const LONGEST = 300;
/** From here a cause is named where the alert names none: as likely as not (our choice). */
const LIKELY = 0.5;
/** So many things are named where no alert names any; the whole list stands on the page. */
const MOST_THINGS = 3;

/**
 * What a visit to a site is for, in the words of its most pressing alert: what is wrong, the likely cause, what to do and what
 * to bring. Whole sentences only: what does not fit into the reason of a visit is left out.
 *
 * @returns empty where nothing asks for anybody
 */
export function visitPurpose(
  { nowMs, site, alerts }: Pick<SiteNeedFacts, 'nowMs' | 'site' | 'alerts'>,
  need: SiteNeed,
  work: Pick<FieldWork, 'causes' | 'bring'>,
): string {
  const due = (alert: (typeof alerts)[number]): number => alertDueMs(alert, nowMs) ?? Infinity;
  const [alert] = alerts
    .filter(asksForVisit)
    .toSorted(
      (a, b) =>
        a.priority.localeCompare(b.priority) || due(a) - due(b) || a.openedAtMs - b.openedAtMs,
    );
  const forecast = need.kind === 'by' ? need.because[0] : undefined;
  const lead = alert?.text.sentence ?? (forecast && `${site.name}: ${forecast}`);
  if (lead === undefined) return '';
  const likely = work.causes.find(({ probability = 0 }) => probability >= LIKELY);
  const todo = alert?.text.todo ?? '';
  const isNamed = likely === undefined || `${lead} ${todo}`.includes(likely.name);
  const bring =
    alert?.text.bring ??
    work.bring
      .filter(({ because }) => because !== EVERY_VISIT)
      .slice(0, MOST_THINGS)
      .map(({ what }) => what)
      .join(', ');
  return [
    lead,
    isNamed ? '' : `Most likely ${likely.name} (${sayPercent(likely.probability ?? 0)}).`,
    todo === '' && likely !== undefined ? (likely.steps[0]?.says ?? '') : todo,
    bring === '' ? '' : `Bring: ${bring}.`,
  ]
    .filter((part) => part !== '')
    .reduce(
      (said, part) => (said.length + 1 + part.length <= LONGEST ? `${said} ${part}` : said),
      '',
    )
    .trim();
}
