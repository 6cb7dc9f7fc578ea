import { sayDuration, sayMoment, type Shift, type SiteGroup } from '@duskline/domain';
import { dutiesBetween, type Duty } from './duties.ts';

/** A stretch in which nobody is on call: for all sites, or for a group of them. */
export interface RotaGap {
  readonly fromMs: number;
  readonly untilMs: number;
  readonly groupId?: string;
  /** One sentence with day, hour and zone. */
  readonly says: string;
}

/**
 * Stretches of [fromMs, toMs) that nobody covers, oldest first. Where there are no shifts at all there is no rota, and so no
 * gap in it. A shift for all sites covers every group. A group that never had a shift of its own is looked after by the shifts
 * for all sites.
 */
export function rotaGaps(
  shifts: readonly Shift[],
  groups: readonly SiteGroup[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): readonly RotaGap[] {
  if (shifts.length === 0) return [];
  const duties = dutiesBetween(shifts, fromMs, toMs);
  const zone = shifts[0]?.timeZone ?? 'UTC';
  const served = groups.filter(({ id }) => shifts.some((shift) => shift.groupId === id));
  const all = shifts.some(({ groupId }) => groupId === undefined);
  // Where every group has shifts of its own, those for all sites are help and no duty.
  const places: readonly (SiteGroup | undefined)[] =
    all && served.length < Math.max(1, groups.length) ? [undefined, ...served] : served;
  return places
    .flatMap((group) =>
      uncovered(
        duties.filter((duty) => covers(duty, group)),
        fromMs,
        toMs,
      ).map((span) => ({
        ...span,
        ...(group === undefined ? {} : { groupId: group.id }),
        says: `Nobody is on call${group === undefined ? '' : ` for ${group.name}`} from ${sayMoment(span.fromMs, zone)} to ${sayMoment(span.untilMs, zone)}, ${sayDuration(span.untilMs - span.fromMs)}.`,
      })),
    )
    .sort((a, b) => a.fromMs - b.fromMs);
}

const covers = (duty: Duty, group: SiteGroup | undefined): boolean =>
  duty.groupId === undefined || duty.groupId === group?.id;

/** @param duties by start */
function uncovered(duties: readonly Duty[], fromMs: number, toMs: number) {
  const gaps: { fromMs: number; untilMs: number }[] = [];
  let coveredUntilMs = fromMs;
  for (const duty of duties) {
    if (duty.fromMs > coveredUntilMs)
      gaps.push({ fromMs: coveredUntilMs, untilMs: Math.min(duty.fromMs, toMs) });
    coveredUntilMs = Math.max(coveredUntilMs, duty.untilMs);
  }
  if (coveredUntilMs < toMs) gaps.push({ fromMs: coveredUntilMs, untilMs: toMs });
  return gaps;
}
