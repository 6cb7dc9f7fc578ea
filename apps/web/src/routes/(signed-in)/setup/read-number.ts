/**
 * A number as people write it: "54.9", "54,9", "−2.3". A comma is a decimal comma, for nobody writes thousands here.
 *
 * @returns undefined for what is no number
 */
export function readNumber(text: string): number | undefined {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : undefined;
}
