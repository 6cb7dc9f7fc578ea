import fastifyCompress from '@fastify/compress';
import { constants } from 'node:zlib';
import type { Door } from '../door.ts';

/** Below one packet nothing is gained. */
const LEAST_BYTES = 1400;

/**
 * What is text: answers, pages, calendars. Files of exports are not: they are compressed already, or are asked for in parts
 * whose places are counted in their plain bytes.
 */
const TEXT =
  /^(application\/(\w+\+)?json|application\/javascript|application\/manifest\+json|text\/(html|css|javascript|plain|calendar)|image\/svg\+xml)\b/;

/**
 * Sends long text compressed to whoever takes it so. Brotli's own default would take seconds for the fleet of a thousand;
 * at 4 it is as quick as gzip and smaller. What comes in is never unpacked here.
 */
export async function compressAnswers(app: Door): Promise<void> {
  await app.register(fastifyCompress, {
    globalDecompression: false,
    threshold: LEAST_BYTES,
    customTypes: TEXT,
    encodings: ['br', 'gzip', 'deflate', 'identity'],
    brotliOptions: { params: { [constants.BROTLI_PARAM_QUALITY]: 4 } },
    zlibOptions: { level: 5 },
  });
}
