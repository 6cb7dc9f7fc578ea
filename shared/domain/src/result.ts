/** What a correct program meets on a normal day: an answer, or a fault that says what, where and how to mend it. */
export type Result<T, F> =
  { readonly ok: true; readonly value: T } | { readonly ok: false; readonly fault: F };

export const ok = <T>(value: T): { readonly ok: true; readonly value: T } => ({ ok: true, value });
export const failed = <F>(fault: F): { readonly ok: false; readonly fault: F } => ({
  ok: false,
  fault,
});
