/** Whose clock instants are told by: the site's, or the reader's own. Kept for this visit only. */
class TimesOf {
  reader = $state(false);
}
export const timesOf = new TimesOf();
