import type { Delivery } from './delivery.ts';
import {
  guardedRequest,
  RequestRefusedError,
  type Guard,
  type GuardedRequest,
} from './guarded-request.ts';

/** Sends by HTTP and says what became of it. 410 ends the channel; so does 404 where `goneAt404`. */
export async function deliverByHttp(
  request: GuardedRequest,
  guard: Guard,
  { goneAt404 = false }: { readonly goneAt404?: boolean } = {},
): Promise<Delivery> {
  try {
    const { status, headers } = await guardedRequest(request, guard);
    if (status >= 200 && status < 300) return { kind: 'sent' };
    const error = `It answered ${status}.`;
    if (status === 410 || (status === 404 && goneAt404))
      return { kind: 'refused', error, channel: 'ended' };
    if (status >= 300 && status < 400)
      return { kind: 'failed', error: `${error} Redirects are not followed.` };
    const retryAfterMs = retryAfter(headers['retry-after']);
    return { kind: 'failed', error, ...(retryAfterMs === undefined ? {} : { retryAfterMs }) };
  } catch (cause) {
    if (cause instanceof RequestRefusedError)
      return { kind: 'refused', error: cause.message, channel: 'fault' };
    return { kind: 'failed', error: reasonOf(cause) };
  }
}

/** Seconds (RFC 9110 §10.2.3), at most an hour; dates are not read. */
function retryAfter(text: string | undefined): number | undefined {
  const seconds = text === undefined ? NaN : Number(text);
  return Number.isFinite(seconds) && seconds > 0 ? Math.min(seconds, 3600) * 1000 : undefined;
}

/** Without addresses: they may be keys. */
export function reasonOf(cause: unknown): string {
  if (!(cause instanceof Error)) return 'It failed.';
  if (cause.name === 'TimeoutError' || cause.name === 'AbortError')
    return 'It did not answer in time.';
  const code = 'code' in cause && typeof cause.code === 'string' ? cause.code : cause.name;
  return `The connection failed (${code}).`;
}
