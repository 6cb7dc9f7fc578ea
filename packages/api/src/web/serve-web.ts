import fastifyStatic from '@fastify/static';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { Door } from '../door.ts';
import { routeUnknown, sendProblem } from '../replies/answer-errors.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { allowPicturesOf } from './allow-pictures-of.ts';
import { documentPolicy } from './document-policy.ts';

const IMMUTABLE = '/_app/immutable/';
/** Never the page, whatever is asked of them: programs would take it for an answer. */
const PROGRAMS_ONLY = /^\/(api|socket\.io|healthz|readyz|metrics)(\/|$)/;

/**
 * Serves the built web app: its files as they are, and for every other address its one page, which finds its way itself.
 * The page is read again when it was built anew; the hashes in its policy go with it.
 *
 * @param tilesUrl the operator's own map: its origin may give pictures, and nothing else
 */
export async function serveWeb(app: Door, webRoot: string, tilesUrl?: string): Promise<void> {
  const page = createPageReader(
    join(webRoot, 'index.html'),
    tilesUrl === undefined ? undefined : new URL(tilesUrl).origin,
  );
  await app.register(fastifyStatic, {
    root: webRoot,
    serve: false,
    cacheControl: false,
    index: false,
    dotfiles: 'ignore',
    suppressWarning: true,
  });

  async function sendPage(reply: FastifyReply): Promise<FastifyReply> {
    const { html, policy } = await page();
    return reply
      .headers({ 'content-security-policy': policy, 'cache-control': 'no-cache' })
      .type('text/html; charset=utf-8')
      .send(html);
  }

  app.get('/*', { config: { allow: 'anyone' }, schema: { hide: true } }, (request, reply) => {
    const path = pathOf(request);
    if (path === undefined || PROGRAMS_ONLY.test(path)) throw routeUnknown(request);
    const lastPart = path.slice(path.lastIndexOf('/') + 1);
    if (lastPart === 'index.html' || !lastPart.includes('.')) return sendPage(reply);
    const age = path.startsWith(IMMUTABLE) ? 'public, max-age=31536000, immutable' : 'no-cache';
    return reply.header('cache-control', age).sendFile(path.slice(1));
  });
}

/** The path, decoded once; undefined when it cannot be decoded or hides a separator or a control character. */
function pathOf(request: FastifyRequest): string | undefined {
  const raw = request.url.split('?')[0] ?? '/';
  if (/%2f|%5c|%00/i.test(raw)) return undefined;
  try {
    return decodeURIComponent(raw);
  } catch {
    return undefined;
  }
}

function createPageReader(path: string, pictures: string | undefined) {
  let kept: { readonly mtimeMs: number; readonly html: string; readonly policy: string };
  return async () => {
    const found = await stat(path).catch(() => undefined);
    if (found === undefined)
      throw new ApiProblem(
        'route-unknown',
        'The web app is not built yet. Wait for its build, or run `npm run build`; the API answers already.',
      );
    if (kept?.mtimeMs !== found.mtimeMs) {
      const built = await readFile(path, 'utf8');
      const html = pictures === undefined ? built : allowPicturesOf(built, pictures);
      kept = { mtimeMs: found.mtimeMs, html, policy: documentPolicy(html) };
    }
    return kept;
  };
}

/** What is not there is a problem, also where a file was asked for. */
export function answerUnknown(app: Door): void {
  app.setNotFoundHandler((request, reply) => sendProblem(reply, routeUnknown(request)));
}
