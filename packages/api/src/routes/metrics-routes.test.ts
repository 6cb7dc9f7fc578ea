import { expect, it } from 'vitest';
import { openApi } from '../../testing/open-api.ts';

it('sends the figures of the server as text, and nobody keeps them', async () => {
  const api = await openApi({
    metrics: {
      contentType: 'text/plain; version=0.0.4; charset=utf-8',
      read: async () => 'duskline_stored_total 12\n',
    },
  });
  const cookie = `duskline=${api.fleet.openSession('viewer')}`;
  const answer = await api.app.inject({ url: '/metrics', headers: { cookie } });
  expect([answer.statusCode, answer.body, answer.headers['cache-control']]).toEqual([
    200,
    'duskline_stored_total 12\n',
    'no-store',
  ]);
  expect(answer.headers['content-type']).toBe('text/plain; version=0.0.4; charset=utf-8');
});
