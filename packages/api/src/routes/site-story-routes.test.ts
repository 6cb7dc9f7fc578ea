import type { NodeEvent } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { NOW_MS, rushyAlert } from '../../testing/fake-ports.ts';
import { openApi } from '../../testing/open-api.ts';
import type { SettingsStory } from '../settings-port.ts';

const open = async () => {
  const events: NodeEvent[] = [];
  const requests: SettingsStory['requests'][number][] = [];
  const api = await openApi({
    story: {
      diagnoses: () =>
        Promise.resolve({
          silence: {
            question: 'silence',
            madeAtMs: NOW_MS,
            causes: [
              {
                cause: 'broken',
                name: 'board or card failed',
                probability: 0.62,
                evidenceFor: ['Charge was 59 %.'],
                evidenceAgainst: ['Its neighbours were heard.'],
                settledBy: 'A visit.',
              },
            ],
          },
        }),
      events: (siteId) => Promise.resolve(events.filter((event) => event.siteId === siteId)),
      alerts: () => Promise.resolve([rushyAlert]),
      addEvent: (event) => {
        events.push(event);
        return Promise.resolve();
      },
    },
    settings: {
      story: () => Promise.resolve({ requests }),
      ask: (_node, request, by) => {
        requests.unshift({ request, askedAtMs: NOW_MS, askedBy: by.name });
        return Promise.resolve();
      },
    },
  });
  return { api };
};

const period = 'from=2026-11-18T00:00:00Z&to=2026-11-26T00:00:00Z';

describe('the story of a site', () => {
  it('has ranked causes with what speaks for and against each', async () => {
    const { api } = await open();
    const answer = await api.ask({ url: '/api/v1/nodes/rushy-sluice-1/diagnoses', as: 'viewer' });
    expect(answer.json()).toMatchObject({
      diagnoses: [
        {
          question: 'silence',
          causes: [{ probability: 0.62, evidenceAgainst: ['Its neighbours were heard.'] }],
        },
      ],
    });
  });

  it('takes notes of those who handle alerts, under their own name', async () => {
    const { api } = await open();
    const note = (as: 'viewer' | 'volunteer', sentence = ' The gate was locked. ') =>
      api.ask({
        method: 'POST',
        url: '/api/v1/sites/rushy-sluice/notes',
        payload: { sentence },
        as,
      });
    expect((await note('viewer')).statusCode).toBe(403);
    expect((await note('volunteer', '   ')).statusCode).toBe(400);
    expect((await note('volunteer')).statusCode).toBe(201);
    const story = await api.ask({
      url: `/api/v1/sites/rushy-sluice/story?${period}`,
      as: 'viewer',
    });
    expect(story.json()).toMatchObject({
      events: [{ kind: 'note', sentence: 'The gate was locked.', by: 'volunteer' }],
      alerts: [{ rule: 'empties-soon', endedAt: null }],
    });
    const wrong = await api.ask({
      url: '/api/v1/sites/rushy-sluice/story?from=2026-11-26T00:00:00Z&to=2026-11-25T00:00:00Z',
      as: 'viewer',
    });
    expect(wrong.json()).toMatchObject({ status: 422, code: 'range-invalid' });
  });
});

describe('settings asked for', () => {
  const ask = async (payload: object, as: 'volunteer' | 'builder' = 'builder') => {
    const { api } = await open();
    return api.ask({
      method: 'POST',
      url: '/api/v1/nodes/rushy-sluice-1/settings',
      payload,
      as,
    });
  };

  it('are of those who may change nodes, and shown as waiting until the node answers', async () => {
    const thrift = { publishEveryS: 3600, thriftUntil: '2026-12-09T00:00:00.000Z' };
    expect((await ask(thrift, 'volunteer')).statusCode).toBe(403);
    const answer = await ask(thrift);
    expect(answer.statusCode).toBe(201);
    expect(answer.json()).toMatchObject({
      inForce: null,
      requests: [{ ...thrift, logEveryS: null, askedBy: 'builder', answeredAt: null }],
    });
  });

  it('need an end that lies ahead, and no publication faster than the log', async () => {
    const past = await ask({ publishEveryS: 3600, thriftUntil: '2026-11-01T00:00:00Z' });
    expect(past.json()).toMatchObject({ status: 422, errors: [{ pointer: '/thriftUntil' }] });
    const crossed = await ask({ logEveryS: 600, publishEveryS: 60 });
    expect(crossed.json()).toMatchObject({ status: 422, errors: [{ pointer: '/publishEveryS' }] });
    expect((await ask({ logEveryS: 0 })).statusCode).toBe(400);
  });
});
