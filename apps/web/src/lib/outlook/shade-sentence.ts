import type { ShadeMapJson } from '@duskline/contract';
import { percent } from '../format/quantity.ts';
import { siteText } from '../text/site.ts';

const words = siteText.shade;

/** "SE" of 135. */
export const compass = (azimuthDeg: number): string =>
  words.compass[Math.round((((azimuthDeg % 360) + 360) % 360) / 45) % 8] ?? '';

/** The shade map in one sentence. */
export function shadeSentence({ bins }: ShadeMapJson): string {
  if (bins.length === 0) return words.none;
  const shaded = bins.filter((bin) => bin.shadeRatio < 1);
  const worst = shaded.reduce<(typeof bins)[number] | undefined>(
    (least, bin) => (least === undefined || bin.shadeRatio < least.shadeRatio ? bin : least),
    undefined,
  );
  if (worst === undefined) return words.free(bins.length);
  return words.found(
    shaded.length,
    bins.length,
    words.worst(
      words.months[worst.season] ?? '',
      compass(worst.azimuthDeg + 7.5),
      percent(worst.shadeRatio),
    ),
  );
}
