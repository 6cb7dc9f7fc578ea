/** Where to go after signing in: a page of our own, never another origin; "/" when nothing good was asked for. */
export function safeNext(next: string | null): string {
  if (next === null || !/^\/(?![/\\])/.test(next)) return '/';
  return next.startsWith('/sign-in') ? '/' : next;
}
