import type { Alert } from '@duskline/domain';

export const LONGEST_MESSAGE = 240;

/**
 * What a call says: site · what · by when · do · who has it, at most 240 characters. Where it is too long the advice is cut
 * first, then what is wrong; site, time and who has it stay whole.
 *
 * @param siteName empty for the fleet
 */
export function callMessage(
  alert: Pick<Alert, 'text' | 'priority' | 'takenBy' | 'handedTo'>,
  siteName: string,
): string {
  const { sentence, byWhen, todo } = alert.text;
  const who =
    alert.takenBy !== undefined
      ? `${alert.takenBy} has this.`
      : alert.handedTo !== undefined
        ? `Handed to ${alert.handedTo}.`
        : 'Nobody has this yet.';
  // Most sentences begin with the name of the site already.
  const site = siteName === '' || sentence.startsWith(siteName) ? '' : `${oneLine(siteName, 60)}: `;
  const when = byWhen === '' ? '' : ` ${capitalised(oneLine(byWhen, 40))}.`;
  const fixed = site.length + when.length + 1 + who.length;
  const roomForWhat = LONGEST_MESSAGE - fixed - Math.min(60, todo.length + 1);
  const what = oneLine(sentence, Math.max(20, roomForWhat));
  const roomToDo = LONGEST_MESSAGE - fixed - what.length - 1;
  const advice = roomToDo < 12 || todo === '' ? '' : ` ${oneLine(todo, roomToDo)}`;
  return `${site}${what}${when}${advice} ${who}`;
}

const capitalised = (text: string): string =>
  `${text.slice(0, 1).toLocaleUpperCase('en')}${text.slice(1)}`;

/** One line of at most so many UTF-16 units, cut at a word where it must be. */
export function oneLine(text: string, most: number): string {
  const line = text.replace(/\s+/g, ' ').trim();
  if (line.length <= most) return line;
  const cut = line.slice(0, most - 1).replace(/[\uD800-\uDBFF]$/, '');
  const atWord = cut.replace(/\s+\S*$/, '');
  return `${atWord.length > most / 2 ? atWord : cut}…`;
}

/** Several alerts at once: > 3 new within half an hour. */
export function floodMessage(count: number, places: readonly string[]): string {
  const named = [...new Set(places)].filter(Boolean);
  return oneLine(
    `${count} more alerts came within half an hour${named.length === 0 ? '' : `: ${named.join(', ')}`}. Perhaps one cause. Open the list before you drive.`,
    LONGEST_MESSAGE,
  );
}
