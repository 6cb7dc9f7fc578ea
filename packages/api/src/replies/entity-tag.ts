import type { FastifyReply, FastifyRequest } from 'fastify';
import { createHash } from 'node:crypto';
import type { Door } from '../door.ts';

/**
 * Answers to GET say that they are private and must be asked for again; one that has not changed since is not sent
 * again (RFC 9110 §8.8.3, §13.1.2). What must not be kept at all says `no-store` itself; it may bring a tag of its own all
 * the same, for programs that remember what they have.
 */
export function tagAnswers(app: Door): void {
  app.addHook('onSend', async (request, reply, payload) => {
    const own = reply.getHeader('etag');
    if (reply.getHeader('cache-control') !== undefined)
      return typeof own === 'string' && reply.statusCode === 200 && typeof payload === 'string'
        ? answerTo(request, reply, { tag: own, payload })
        : payload;
    if (reply.statusCode !== 200 || request.method !== 'GET' || typeof payload !== 'string') {
      reply.header('cache-control', 'no-store');
      return payload;
    }
    const tag = tagOf(payload);
    reply.headers({ 'cache-control': 'private, no-cache', etag: tag });
    return answerTo(request, reply, { tag, payload });
  });
}

/** Weak: an answer may be compressed or not. */
export const tagOf = (text: string): string =>
  `W/"${createHash('sha256').update(text).digest('base64url').slice(0, 22)}"`;

function answerTo(
  request: FastifyRequest,
  reply: FastifyReply,
  { tag, payload }: { readonly tag: string; readonly payload: string },
): string {
  if (!matches(request.headers['if-none-match'], tag)) return payload;
  reply.code(304).removeHeader('content-length');
  return '';
}

const matches = (wanted: string | undefined, tag: string): boolean =>
  wanted
    ?.split(',')
    .map((one) => one.trim())
    .some((one) => one === '*' || one === tag) ?? false;
