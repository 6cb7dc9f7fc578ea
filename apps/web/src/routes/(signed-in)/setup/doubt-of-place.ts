import { setupText } from '../../../lib/text/setup.ts';

/** No country keeps clocks so far from its sun (Western China, some 3 h, is the farthest): from memory. */
const FAR_H = 4;
/** So far off that swapped figures that fit are the likelier explanation, and so near that they do (our choice). */
const ODD_H = 2;
const NEAR_H = 1.5;

/**
 * Whether a position and the clock of its zone can be of one place.
 *
 * @param offsetH  of the zone in its winter, hours east of UTC
 * @returns what is odd, in words that say how to mend it
 */
export function doubtOfPlace(
  { latitudeDeg, longitudeDeg }: { readonly latitudeDeg: number; readonly longitudeDeg: number },
  { timeZone, offsetH }: { readonly timeZone: string; readonly offsetH: number },
): string | undefined {
  const offH = apart(longitudeDeg, offsetH);
  const swappedFits = Math.abs(longitudeDeg) <= 90 && apart(latitudeDeg, offsetH) <= NEAR_H;
  if (offH > ODD_H && swappedFits)
    return setupText.swapped({ latitudeDeg, longitudeDeg, timeZone });
  return offH > FAR_H ? setupText.farOff({ longitudeDeg, timeZone, offsetH }) : undefined;
}

/** Hours between the clock of a zone and the sun at a longitude, the short way round. */
function apart(longitudeDeg: number, offsetH: number): number {
  const hours = Math.abs(longitudeDeg / 15 - offsetH) % 24;
  return Math.min(hours, 24 - hours);
}

/** Hours east of UTC in the winter of the zone: the lesser of January and July. */
export function offsetOfZone(timeZone: string): number {
  const year = new Date().getUTCFullYear();
  const written = new Intl.DateTimeFormat('en-GB', { timeZone, timeZoneName: 'longOffset' });
  const hours = [0, 6].map((month) => {
    const part = written
      .formatToParts(Date.UTC(year, month, 15))
      .find(({ type }) => type === 'timeZoneName');
    const found = /([+-])(\d\d):(\d\d)/.exec(part?.value ?? '');
    return found === null
      ? 0
      : (found[1] === '-' ? -1 : 1) * (Number(found[2]) + Number(found[3]) / 60);
  });
  return Math.min(...hours);
}
