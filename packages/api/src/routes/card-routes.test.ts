import type { CardImportJson } from '@duskline/contract';
import { failed, ok } from '@duskline/domain';
import { beforeAll, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import type { CardPort } from '../card-port.ts';

const card: CardImportJson = {
  id: 7,
  node: 'rushy-sluice-1',
  siteName: 'Rushy Sluice',
  siteZone: 'Europe/London',
  by: 'Ida',
  createdAt: '2026-11-25T07:00:00Z',
  stage: 'bringing',
  note: null,
  files: [{ name: 'log.csv', bytes: 12, received: 0 }],
  progress: null,
  counts: { filled: 0, here: 0, conflicts: 0, repeated: 0 },
  preview: null,
};
const brought: string[] = [];
const cards: CardPort = {
  open: async ({ by, files }) => ({
    ...card,
    by,
    files: files.map((file) => ({ ...file, received: 0 })),
  }),
  list: async () => [card],
  find: async (id) => (id === card.id ? card : undefined),
  async bring(_id, { offset, bytes }) {
    brought.push(`${offset} ${Buffer.from(bytes).toString()}`);
    return ok({ received: offset + bytes.length });
  },
  read: async () => ok({ ...card, stage: 'reading' }),
  store: async () => failed({ code: 'card-not-ready', detail: 'Have the files read first.' }),
  stop: async () => ok(card),
  discard: async () => ok(null),
  conflicts: async () => ({ conflicts: [] }),
};

describe('the routes of memory cards', () => {
  let api: OpenApi;
  beforeAll(async () => {
    api = await openApi({ cards });
  });
  const path = '/api/v1/card-imports';
  const files = [{ name: 'log.csv', bytes: 12 }];

  it('let those who may change nodes bring files, and everybody signed in look', async () => {
    const open = (as: 'builder' | 'viewer', node: string) =>
      api.ask({ method: 'POST', url: path, as, payload: { node, files } });
    expect((await open('builder', 'rushy-sluice-1')).statusCode).toBe(201);
    expect((await open('builder', 'no-such-node')).json()).toMatchObject({ code: 'node-unknown' });
    expect((await open('viewer', 'rushy-sluice-1')).statusCode).toBe(403);
    expect((await api.ask({ url: path, as: 'viewer' })).json()).toMatchObject({
      imports: [{ id: 7 }],
    });
    expect((await api.ask({ url: `${path}/8`, as: 'viewer' })).json()).toMatchObject({
      code: 'card-import-unknown',
    });
    expect((await api.ask({ url: `${path}/7/conflicts?skip=200`, as: 'viewer' })).statusCode).toBe(
      200,
    );
    expect((await api.ask({ url: path })).statusCode).toBe(401);
  });

  it('take pieces as bytes only, and no larger than said', async () => {
    const bring = (type: string, payload: Buffer | string) =>
      api.ask({
        method: 'PUT',
        url: `${path}/7/files/0?offset=4`,
        as: 'builder',
        headers: { 'content-type': type },
        payload,
      });
    expect((await bring('application/octet-stream', 'time;batt_v')).json()).toEqual({
      received: 15,
    });
    expect(brought).toEqual(['4 time;batt_v']);
    expect((await bring('application/json', '{}')).statusCode).toBe(415);
    expect((await bring('text/plain', 'time')).statusCode).toBe(415);
    const tooLarge = await bring('application/octet-stream', Buffer.alloc(4 * 1024 * 1024 + 1));
    expect(tooLarge.statusCode).toBe(413);
    expect(tooLarge.json()).toMatchObject({ detail: expect.stringContaining('4 MiB') as string });
  });

  it('say as a problem why a step cannot be taken, and check what is said of the files', async () => {
    const step = (method: 'PUT' | 'POST' | 'DELETE', rest: string, payload?: object) =>
      api.ask({
        method,
        url: `${path}/7${rest}`,
        as: 'coordinator',
        ...(payload === undefined ? {} : { payload }),
      });
    expect((await step('POST', '/store')).json()).toMatchObject({
      status: 409,
      code: 'card-not-ready',
    });
    const use = { metric: 'batt_v', unit: 'mV' };
    expect(
      (await step('PUT', '/settings', { zone: 'UTC', columns: [{ heading: 'U', use }] }))
        .statusCode,
    ).toBe(202);
    expect((await step('PUT', '/settings', { delimiter: 'x' })).statusCode).toBe(400);
    expect(
      (
        await step('PUT', '/settings', {
          columns: [{ heading: 'U', use: { ...use, metric: '__proto__' } }],
        })
      ).statusCode,
    ).toBe(400);
    expect((await step('POST', '/stop')).statusCode).toBe(202);
    expect((await step('DELETE', '')).statusCode).toBe(204);
  });
});
