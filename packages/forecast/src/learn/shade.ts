import { HOUR_MS, type Position } from '@duskline/domain';
import { sunPosition } from '@duskline/energy';
import type { HarvestHours } from './harvest-hours.ts';
import { FREE } from './hour-flags.ts';
import type { ShadeBin } from './learnt-site.ts';
import type { PastHours } from './past-hours.ts';
import { percentile } from './robust.ts';

export const AZIMUTH_BIN_DEG = 15;
const ENVELOPE = 0.9;
/** Hours counted as if seen at the envelope of all bins (n₀ of the shrinkage): project research note §8.2. */
const PRIOR_HOURS = 10;
/** Only hours in which a cloudless sky would give this share of the rated power. */
const BRIGHT_SHARE = 0.2;
/** A bin less than this much below the others is noise of the weather. Assumption, no source. */
const LEAST_SHADE = 0.85;
/** So unlikely must it be that weather alone kept all good hours out of a bin. Some fifty bins are looked at. */
const CHANCE_BY_WEATHER = 0.001;

interface Seen {
  readonly season: number;
  readonly bin: number;
  readonly ratio: number;
}

/**
 * Where something stands between sun and panel: the best the panel does by 15° of sun azimuth and two months of the year.
 *
 * A bin is shaded when its envelope (90th percentile, shrunk towards that of the season by ten hours) lies 15 % below the
 * season's, and so few of its hours reach the season's good ones that weather would do it once in a thousand times. Without the
 * second condition a dull fortnight would be taken for a hedge.
 *
 * @param past  with the yardstick as yet unshaded
 * @returns the bins in which free, bright hours were seen; `shadeRatio` 1 where no shade was found
 * @source ours, after the robust envelope of the project's research note §8.2; binomial tail: Abramowitz & Stegun 26.5.1
 */
export function shadeBins(
  past: PastHours,
  harvest: HarvestHours,
  facts: { readonly flags: Uint8Array; readonly ratedW: number; readonly position: Position },
): readonly ShadeBin[] {
  const seen = seenHours(past, harvest, facts);
  const seasons = [...new Set(seen.map((one) => one.season))].sort((a, b) => a - b);
  return seasons.flatMap((season) => binsOfSeason(seen.filter((one) => one.season === season)));
}

function seenHours(
  { history, spans, referenceWh }: PastHours,
  harvest: HarvestHours,
  facts: Parameters<typeof shadeBins>[2],
): readonly Seen[] {
  const seen: Seen[] = [];
  const azimuthDeg = azimuths(facts.position);
  for (const { from, to } of spans)
    for (let i = from; i < to; i++) {
      if (facts.flags[i] !== FREE || referenceWh[i]! <= BRIGHT_SHARE * facts.ratedW) continue;
      const atMs = history.startMs + (i + 0.5) * HOUR_MS;
      const bin = Math.floor(azimuthDeg(atMs) / AZIMUTH_BIN_DEG);
      seen.push({ season: seasonOf(atMs), bin, ratio: harvest.harvestW[i]! / referenceWh[i]! });
    }
  return seen;
}

function binsOfSeason(seen: readonly Seen[]): readonly ShadeBin[] {
  const envelope = percentile(
    seen.map((one) => one.ratio),
    ENVELOPE,
  );
  const isGood = ({ ratio }: Seen): boolean => ratio >= LEAST_SHADE * envelope;
  const good = seen.filter(isGood).length;
  const bins = [...new Set(seen.map((one) => one.bin))].sort((a, b) => a - b);
  return bins.map((bin) => {
    const own = seen.filter((one) => one.bin === bin);
    const best = percentile(
      own.map((one) => one.ratio),
      ENVELOPE,
    );
    const envelopeRatio = (own.length * best + PRIOR_HOURS * envelope) / (own.length + PRIOR_HOURS);
    const ownGood = own.filter(isGood).length;
    const others = seen.length - own.length;
    const isShaded =
      others > 0 &&
      envelopeRatio < LEAST_SHADE * envelope &&
      atMost(ownGood, own.length, (good - ownGood) / others) < CHANCE_BY_WEATHER;
    return {
      season: seen[0]!.season,
      azimuthDeg: bin * AZIMUTH_BIN_DEG,
      envelopeRatio,
      shadeRatio: isShaded ? Math.max(0, envelopeRatio / envelope) : 1,
      hours: own.length,
    };
  });
}

/** Chance of at most `k` of `n`, each with the given chance. */
function atMost(k: number, n: number, chance: number): number {
  if (chance >= 1) return k < n ? 0 : 1;
  let term = (1 - chance) ** n;
  let sum = term;
  for (let i = 1; i <= k; i++) {
    term *= ((n - i + 1) / i) * (chance / (1 - chance));
    sum += term;
  }
  return Math.min(1, sum);
}

/** Bins of this look, and those of seasons that it did not see, or saw much less of. */
export function mergeShade(
  kept: readonly ShadeBin[],
  fresh: readonly ShadeBin[],
): readonly ShadeBin[] {
  const hoursOf = (bins: readonly ShadeBin[], season: number): number =>
    bins.reduce((sum, bin) => sum + (bin.season === season ? bin.hours : 0), 0);
  const isFresh = (season: number): boolean =>
    hoursOf(fresh, season) > 0 && hoursOf(fresh, season) >= hoursOf(kept, season) / 2;
  return [
    ...kept.filter((bin) => !isFresh(bin.season)),
    ...fresh.filter((bin) => isFresh(bin.season)),
  ].sort((a, b) => a.season - b.season || a.azimuthDeg - b.azimuthDeg);
}

/**
 * Takes the shade off a clear-sky yardstick, in place.
 *
 * @param energyWh  one value per hour from `startMs` on
 * @returns the same array; untouched where no bin is shaded
 */
export function applyShade(
  energyWh: Float64Array,
  place: {
    readonly startMs: number;
    readonly position: Position;
    readonly shade: readonly ShadeBin[];
  },
): Float64Array {
  const shaded = new Map(
    place.shade
      .filter((bin) => bin.shadeRatio < 1)
      .map((bin) => [bin.season * 360 + bin.azimuthDeg, bin.shadeRatio]),
  );
  if (shaded.size === 0) return energyWh;
  const azimuthDeg = azimuths(place.position);
  for (let i = 0; i < energyWh.length; i++) {
    if (energyWh[i] === 0) continue;
    const atMs = place.startMs + (i + 0.5) * HOUR_MS;
    const bin = Math.floor(azimuthDeg(atMs) / AZIMUTH_BIN_DEG) * AZIMUTH_BIN_DEG;
    energyWh[i] = energyWh[i]! * (shaded.get(seasonOf(atMs) * 360 + bin) ?? 1);
  }
  return energyWh;
}

/** Two months: 0 = January and February. */
export const seasonOf = (atMs: number): number => Math.floor(new Date(atMs).getUTCMonth() / 2);

const azimuths =
  ({ latitudeDeg, longitudeDeg }: Position) =>
  (atMs: number): number =>
    sunPosition(atMs, latitudeDeg, longitudeDeg).azimuthDeg % 360;
