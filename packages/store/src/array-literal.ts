/**
 * Numbers as a Postgres array literal, several times faster than the driver's own quoting.
 *
 * @param values null becomes SQL null; must be finite.
 * @returns text such as `{1,2.5,NULL}`, to be cast by the statement (`::float8[]`).
 */
export function arrayLiteral(values: readonly (number | null)[]): string {
  return `{${values.map((value) => value ?? 'NULL').join(',')}}`;
}

/** Characters that Postgres cannot keep in text or jsonb, replaced as a decoder of UTF-8 would replace them. */
export function storableText(text: string): string {
  return text.replace(/\0|\p{Surrogate}/gu, '\uFFFD');
}

/** A value as JSON that jsonb takes: no NUL, no half of a surrogate pair. */
export function storableJson(value: unknown): string {
  return JSON.stringify(value, (_key, inner: unknown) =>
    typeof inner === 'string' ? storableText(inner) : inner,
  );
}
