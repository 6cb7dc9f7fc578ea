import type { Door } from './door.ts';

/**
 * A query has only text: what the schema wants as a number is made one where it is written like one. Bodies are never
 * coerced; "5" is not 5 there.
 */
export function coerceQuery(app: Door): void {
  app.addHook('preValidation', async (request) => {
    const query = request.query as Record<string, unknown>;
    for (const [key, value] of Object.entries(query))
      if (numericKeys.has(key) && typeof value === 'string' && /^\d{1,9}$/.test(value))
        query[key] = Number(value);
  });
}

/** Query parameters that are whole numbers. */
const numericKeys = new Set(['limit', 'points', 'offset', 'skip', 'days']);
