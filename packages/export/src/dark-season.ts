import type { Stretch } from './split-time.ts';

/** How dark time lies over the year, measured on the gaps themselves. */
export interface DarkSeason {
  /** Share of the range's time in its darker half: the six months around the winter solstice of the site. */
  readonly timeShare: number;
  /** Share of the dark time that lies in it. */
  readonly darkShare: number;
  readonly darkMs: number;
}

const DAY_MS = 86_400_000;

/** October to March in the north, April to September in the south. */
function isDarkHalf(ms: number, latitudeDeg: number): boolean {
  const month = new Date(ms).getUTCMonth();
  return latitudeDeg >= 0 === (month < 3 || month > 8);
}

/**
 * Whether nodes go dark when it is dark. Days are counted whole, by the month they begin in.
 *
 * @returns undefined when nothing was dark, or the range knows no two halves
 */
export function darkSeason(
  stretches: readonly Stretch[],
  latitudeDeg: number,
): DarkSeason | undefined {
  let [time, timeDark, dark, darkDark] = [0, 0, 0, 0];
  for (const { fromMs, toMs, gap } of stretches) {
    for (let at = fromMs; at < toMs;) {
      const next = Math.min(toMs, (Math.floor(at / DAY_MS) + 1) * DAY_MS);
      const ms = next - at;
      const winter = isDarkHalf(at, latitudeDeg);
      time += ms;
      if (winter) timeDark += ms;
      if (gap?.cause === 'dark as designed') {
        dark += ms;
        if (winter) darkDark += ms;
      }
      at = next;
    }
  }
  if (dark === 0 || timeDark === 0 || timeDark === time) return undefined;
  return { timeShare: timeDark / time, darkShare: darkDark / dark, darkMs: dark };
}

/** The halves of several sites together. */
export function joinSeasons(seasons: readonly DarkSeason[]): DarkSeason | undefined {
  const darkMs = seasons.reduce((sum, one) => sum + one.darkMs, 0);
  if (darkMs === 0) return undefined;
  return {
    darkMs,
    timeShare: seasons.reduce((sum, one) => sum + one.timeShare, 0) / seasons.length,
    darkShare: seasons.reduce((sum, one) => sum + one.darkShare * one.darkMs, 0) / darkMs,
  };
}

const GENERAL =
  'Gaps are not random: nodes go dark in dark, cold weather. Means over what is left are too bright and too warm.';

/** The warning, with the figures where there are some. */
export function gapWarning(season: DarkSeason | undefined): string {
  if (season === undefined) return GENERAL;
  const percent = (ratio: number): string => `${Math.round(ratio * 100)} %`;
  return `${GENERAL} Here ${percent(season.darkShare)} of the dark time lies in the darker half of the year, which is ${percent(season.timeShare)} of the period.`;
}
