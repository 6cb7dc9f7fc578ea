/**
 * A built page whose own policy also lets pictures of one more origin in: the operator's map tiles. Nothing else is let in
 * from there.
 *
 * @param html   the built page with its policy in a meta element
 * @param origin such as `https://tiles.example.org`
 */
export function allowPicturesOf(html: string, origin: string): string {
  return html.replace(
    /(<meta\s+http-equiv="content-security-policy"\s+content="[^"]*?img-src [^;"]*)/i,
    `$1 ${origin}`,
  );
}
