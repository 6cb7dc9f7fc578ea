/**
 * The order under a reader's eyes: ids already shown stay where they are, new ones join at the end, gone ones leave.
 *
 * @param shown   ids as they stand on the screen; empty before the first sight
 * @param wanted  ids as the sort would have them now
 */
export function keepOrder(shown: readonly string[], wanted: readonly string[]): readonly string[] {
  if (shown.length === 0) return wanted;
  const present = new Set(wanted);
  const seen = new Set(shown);
  return [...shown.filter((id) => present.has(id)), ...wanted.filter((id) => !seen.has(id))];
}

/** Would sorting again move anything? */
export const orderDiffers = (shown: readonly string[], wanted: readonly string[]): boolean =>
  shown.length !== wanted.length || shown.some((id, i) => id !== wanted[i]);
