/** Words this many edits apart or more are not taken for one another. */
const TOO_FAR = 4;
const COMPARED_CHARACTERS = 40;

/**
 * The word somebody most likely meant.
 *
 * @param text what was written
 * @param words what is known
 * @returns undefined when nothing known is within three edits
 * @source Wagner & Fischer, 1974, "The String-to-String Correction Problem" (from memory)
 */
export function nearestWord(text: string, words: readonly string[]): string | undefined {
  const written = text.slice(0, COMPARED_CHARACTERS).toLowerCase();
  let nearest: string | undefined;
  let fewest = TOO_FAR;
  for (const word of words) {
    const edits = editsBetween(written, word);
    if (edits < fewest && edits < word.length) [nearest, fewest] = [word, edits];
  }
  return nearest;
}

function editsBetween(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_none, column) => column);
  for (let i = 1; i <= a.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const replaced = (row[j - 1] ?? 0) + Number(a[i - 1] !== b[j - 1]);
      next.push(Math.min(replaced, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[b.length] ?? 0;
}
