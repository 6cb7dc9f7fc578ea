import fastify, { type FastifyServerOptions } from 'fastify';
import { describe, expect, it } from 'vitest';
import { lateChecks } from './late-checks.ts';

const ajv = { customOptions: { coerceTypes: false, removeAdditional: false, useDefaults: false } };
const late = { ajv, schemaController: { compilersFactory: { buildValidator: lateChecks() } } };
const volts = { type: 'object', required: ['volts'], properties: { volts: { type: 'number' } } };

async function door(options: FastifyServerOptions, body: object) {
  const app = fastify(options);
  app.addSchema({ $id: 'Volts', ...volts });
  app.post('/reading', { schema: { body } }, (request) => request.body);
  await app.ready();
  return app;
}

describe('checks compiled when they are needed', () => {
  // Fastify's own compiler, which compiles at the start, says what is right.
  it.each([{ volts: 12.8 }, { volts: '12.8' }, {}, [], null])(
    'answers %j as one compiled at the start does',
    async (payload) => {
      const answers = [];
      for (const options of [late, { ajv }])
        for (const body of [volts, { $ref: 'Volts#' }]) {
          const app = await door(options, body);
          const answer = await app.inject({
            method: 'POST',
            url: '/reading',
            headers: { 'content-type': 'application/json' },
            payload: JSON.stringify(payload),
          });
          answers.push([answer.statusCode, answer.body]);
        }
      expect(answers[0]).toEqual(answers[2]);
      expect(answers[1]).toEqual(answers[3]);
    },
  );

  it('opens the door before the first is compiled', async () => {
    const broken = { type: 'object', properties: { volts: { $ref: 'Nowhere#' } } };
    await expect(door({ ajv }, broken)).rejects.toThrow(/Nowhere/);
    const app = await door(late, broken);
    const answer = await app.inject({ method: 'POST', url: '/reading', payload: { volts: 1 } });
    expect(answer.statusCode).toBe(500);
  });
});
