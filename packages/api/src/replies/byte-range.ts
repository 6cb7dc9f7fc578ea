/** Which bytes [from, to) of a file are wanted; `whole`: no range, or one we need not follow; `outside`: none there are. */
export type ByteRange =
  | { readonly kind: 'whole' }
  | { readonly kind: 'part'; readonly from: number; readonly to: number }
  | { readonly kind: 'outside' };

/**
 * One range of bytes. Several at once are answered with the whole file, as RFC 9110 §14.2 allows.
 *
 * @param ifRange sent along: the range holds only for the file of this tag (RFC 9110 §13.1.5)
 */
export function byteRange(
  header: string | undefined,
  {
    size,
    tag,
    ifRange,
  }: { readonly size: number; readonly tag: string; readonly ifRange?: string | undefined },
): ByteRange {
  const found = /^bytes=(\d*)-(\d*)$/.exec(header?.trim() ?? '');
  if (found === null || (ifRange !== undefined && ifRange !== tag)) return { kind: 'whole' };
  const [, first = '', last = ''] = found;
  if (first === '' && last === '') return { kind: 'whole' };
  if (first === '') {
    const length = Math.min(Number(last), size);
    return length === 0 ? { kind: 'outside' } : { kind: 'part', from: size - length, to: size };
  }
  const from = Number(first);
  const to = last === '' ? size : Math.min(Number(last) + 1, size);
  if (last !== '' && Number(last) < from) return { kind: 'whole' };
  return from >= size ? { kind: 'outside' } : { kind: 'part', from, to };
}
