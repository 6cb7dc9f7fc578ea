import { createHash } from 'node:crypto';
import type { Door } from '../door.ts';

/**
 * Answers to GET say that they are private and must be asked for again; one that has not changed since is not sent
 * again (RFC 9110 §8.8.3, §13.1.2). What must not be kept at all says `no-store` itself.
 */
export function tagAnswers(app: Door): void {
  app.addHook('onSend', async (request, reply, payload) => {
    if (reply.getHeader('cache-control') !== undefined) return payload;
    if (reply.statusCode !== 200 || request.method !== 'GET' || typeof payload !== 'string') {
      reply.header('cache-control', 'no-store');
      return payload;
    }
    const tag = `W/"${createHash('sha256').update(payload).digest('base64url').slice(0, 22)}"`;
    reply.headers({ 'cache-control': 'private, no-cache', etag: tag });
    if (!matches(request.headers['if-none-match'], tag)) return payload;
    reply.code(304).removeHeader('content-length');
    return '';
  });
}

const matches = (wanted: string | undefined, tag: string): boolean =>
  wanted
    ?.split(',')
    .map((one) => one.trim())
    .some((one) => one === '*' || one === tag) ?? false;
