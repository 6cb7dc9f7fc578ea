import type { Role } from '@duskline/domain';
import { failed } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { openApi } from '../../testing/open-api.ts';
import { rememberParts } from '../../testing/remember-parts.ts';
import type { OutlookDesk } from '../outlook-desk.ts';

const emptyLearnt = {
  node: 'rushy-sluice-1',
  learntAt: null,
  figures: [],
  remarks: [],
  since: [],
  resets: [],
};

/** Remembers what it was asked; answers as little as the contract allows. */
function desk(told: string[]): OutlookDesk {
  return {
    learnt: () => Promise.resolve(emptyLearnt),
    reset: (_node, { part, why }, by) => {
      told.push(`${by.name} resets ${part}: ${why}`);
      return Promise.resolve(emptyLearnt);
    },
    partReplaced: (node, { kind }) => {
      told.push(`${kind} replaced, node now has ${node.power.panel.ratedW} W`);
      return Promise.resolve();
    },
    outlooks: () => Promise.resolve({ outlooks: [] }),
    inputs: () => Promise.resolve(undefined),
    whatIf: () => Promise.resolve(undefined),
    outside: () => Promise.resolve({ forecasts: [] }),
    addOutside: (_site, body) => {
      told.push(typeof body === 'string' ? `file: ${body}` : `json: ${body.source}`);
      return Promise.resolve(
        failed({ kind: 'invalid', pointer: 'line 3', detail: 'begins with no time' }),
      );
    },
    score: () => Promise.reject(new Error('not asked for')),
  };
}

const open = async () => {
  const told: string[] = [];
  return { told, api: await openApi({ outlookDesk: desk(told), parts: rememberParts() }) };
};
const panel = {
  kind: 'panel',
  serial: 'P-1',
  maker: 'Invented Works',
  fittedAt: '2026-09-01T10:00:00Z',
};

describe('what outlooks rest on', () => {
  it('may be read by everybody signed in, and changed by those who may change nodes', async () => {
    const { api } = await open();
    const reads = [
      '/api/v1/nodes/rushy-sluice-1/learnt',
      '/api/v1/nodes/rushy-sluice-1/outlooks?from=2026-11-01T00:00:00Z&to=2026-11-25T00:00:00Z',
      '/api/v1/sites/rushy-sluice/parts',
      '/api/v1/sites/rushy-sluice/outside-forecasts',
    ];
    for (const url of reads) {
      expect([url, (await api.ask({ url, as: 'viewer' })).statusCode]).toEqual([url, 200]);
      expect([url, (await api.ask({ url })).statusCode]).toEqual([url, 401]);
    }
    const writes = [
      ['/api/v1/nodes/rushy-sluice-1/learnt/reset', { part: 'panel', why: 'Cleaned.' }, 200],
      ['/api/v1/sites/rushy-sluice/parts', panel, 201],
    ] as const;
    for (const [url, payload, good] of writes) {
      const as = async (role: Role) =>
        (await api.ask({ method: 'POST', url, payload, as: role })).statusCode;
      expect([url, await as('viewer'), await as('volunteer'), await as('builder')]).toEqual([
        url,
        403,
        403,
        good,
      ]);
    }
  });

  it('begins anew for a part that was replaced, with the rating of the new one', async () => {
    const { api, told } = await open();
    const made = await api.ask({
      method: 'POST',
      url: '/api/v1/sites/rushy-sluice/parts',
      payload: panel,
      as: 'builder',
    });
    const { id } = made.json<{ id: string }>();
    const next = { serial: 'P-2', maker: 'Invented Works', rated: { powerW: 40 } };
    const replaced = await api.ask({
      method: 'POST',
      url: `/api/v1/sites/rushy-sluice/parts/${id}/replace`,
      payload: { ...next, fittedAt: '2026-11-20T10:00:00Z' },
      as: 'builder',
    });
    expect(replaced.statusCode).toBe(201);
    expect(told).toEqual(['panel replaced, node now has 40 W']);
    const future = await api.ask({
      method: 'POST',
      url: '/api/v1/sites/rushy-sluice/parts',
      payload: { ...panel, fittedAt: '2027-01-01T00:00:00Z' },
      as: 'builder',
    });
    expect(future.json()).toMatchObject({ status: 422, errors: [{ pointer: '/fittedAt' }] });
  });

  it('takes a forecast from outside as a small file, too, and says where it is wrong', async () => {
    const { api, told } = await open();
    const answer = await api.ask({
      method: 'POST',
      url: '/api/v1/sites/rushy-sluice/outside-forecasts',
      headers: { 'content-type': 'text/csv' },
      payload: 'time_utc,cloud',
      as: 'coordinator',
    });
    expect(told).toEqual(['file: time_utc,cloud']);
    expect(answer.json()).toMatchObject({
      status: 422,
      code: 'outside-forecast-invalid',
      errors: [{ pointer: 'line 3' }],
    });
  });

  it('says plainly what is not there', async () => {
    const { api } = await open();
    const inputs = await api.ask({
      url: '/api/v1/nodes/rushy-sluice-1/outlooks/123456789012/inputs',
      as: 'viewer',
    });
    expect(inputs.json()).toMatchObject({ status: 404, code: 'outlook-unknown' });
    const nobody = await api.ask({ url: '/api/v1/nodes/no-such-node/learnt', as: 'viewer' });
    expect(nobody.json()).toMatchObject({ status: 404, code: 'node-unknown' });
  });
});
