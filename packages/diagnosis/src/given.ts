/** The property, when there is a value for it: absent is not the same as undefined. */
export function given<K extends string>(
  key: K,
  value: number | undefined,
): { readonly [P in K]?: number } {
  return value === undefined ? {} : ({ [key]: value } as { readonly [P in K]?: number });
}
