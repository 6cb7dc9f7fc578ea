import {
  visitProgress,
  type Account,
  type Person,
  type SiteId,
  type VisitStep,
} from '@duskline/domain';
import { beforeEach, describe, expect, it } from 'vitest';
import { everyPort } from '../../testing/every-port.ts';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import { visitExamples } from '../openapi/visit-examples.ts';
import type { KeptVisitFacts, RoundsPort } from '../rounds-port.ts';

const [sheet] = visitExamples.FieldSheet;
const [rounds] = visitExamples.Rounds;
const AT = '2026-11-26T09:00:00.000Z';
const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

/** Keeps visits in memory as the store would. */
function fakeTrips() {
  const visits = new Map<string, KeptVisitFacts>();
  const steps = new Map<string, VisitStep[]>();
  const feeds = new Map<string, { accountId: Account['id']; hash: string; madeAtMs: number }>();
  const hex = (hash: Uint8Array) => Buffer.from(hash).toString('hex');
  const port: RoundsPort = {
    rounds: async (from, { sees }) => ({
      ...rounds,
      travel: { ...rounds.travel, fromLatitudeDeg: from?.latitudeDeg ?? null },
      sites: rounds.sites.filter(({ siteId }) => sees(siteId as SiteId)),
    }),
    sheet: async (siteId) => (siteId === 'rushy-sluice' ? sheet : undefined),
    visits: {
      plan: async (plans) => {
        for (const plan of plans)
          if (!visits.has(plan.id))
            visits.set(plan.id, {
              ...plan,
              person: 'Ash Fell',
              ...visitProgress([]),
              verdicts: [],
            });
        return plans.flatMap(({ id }) => visits.get(id) ?? []);
      },
      find: async (id) => visits.get(id),
      list: async ({ fromMs, toMs, siteId }) =>
        [...visits.values()].filter(
          (one) =>
            one.plannedAtMs >= fromMs &&
            one.plannedAtMs < toMs &&
            (siteId === undefined || one.siteId === siteId),
        ),
      move: async (id, { plannedAtMs, personId }) => {
        const before = visits.get(id);
        if (before?.state !== 'planned') return undefined;
        const { round: _, ...rest } = before;
        visits.set(id, { ...rest, plannedAtMs, personId });
        return visits.get(id);
      },
      step: async (id, added, { work }) => {
        const before = visits.get(id);
        if (before === undefined) return undefined;
        const all = [...(steps.get(id) ?? []), ...added];
        steps.set(id, all);
        visits.set(id, { ...before, ...visitProgress(all), work: before.work ?? work });
        return visits.get(id);
      },
    },
    calendarFeeds: {
      of: async (id) => feeds.get(id),
      renew: async (id, hash, nowMs) => {
        feeds.set(id, { accountId: id, hash: hex(hash), madeAtMs: nowMs });
        return { madeAtMs: nowMs };
      },
      find: async (hash) => [...feeds.values()].find((one) => one.hash === hex(hash)),
      end: async (id) => feeds.delete(id),
    },
  };
  return port;
}

describe('visits', () => {
  let api: OpenApi;
  const post = (url: string, payload: object, as: 'volunteer' | 'coordinator' = 'volunteer') =>
    api.ask({ method: 'POST', url, as, payload });
  /** Planned in the morning; what is reported comes in at 13:00. */
  const planned = async (url: string, payload: object, as?: 'coordinator') => {
    api.fleet.setNow(Date.parse('2026-11-26T08:00:00.000Z'));
    const answer = await post(url, payload, as);
    api.fleet.setNow(Date.parse('2026-11-26T13:00:00.000Z'));
    return answer;
  };
  beforeEach(async () => {
    api = await openApi({ trips: fakeTrips() });
    api.fleet.setNow(Date.parse('2026-11-26T13:00:00.000Z'));
  });
  const plan = async (id = uuid(1)) =>
    planned('/api/v1/visits', { id, siteId: 'rushy-sluice', at: AT, why: 'Look at the panel.' });
  const setOut = {
    id: uuid(11),
    at: '2026-11-26T09:10:00.000Z',
    kind: 'set-out',
    backBy: '2026-11-26T14:00:00.000Z',
    companions: '',
    cautions: sheet.cautions.map(({ key }) => key),
  };
  const back = {
    id: uuid(12),
    at: '2026-11-26T12:00:00.000Z',
    kind: 'back',
    found: 'Corroded.',
    deeds: ['mended-cable'],
  };

  it('are planned once, and read whole with all that is needed at the site', async () => {
    expect((await plan()).statusCode).toBe(201);
    expect((await plan()).json()).toMatchObject({ id: uuid(1), state: 'planned' });
    const page = await api.ask({ url: `/api/v1/visits/${uuid(1)}`, as: 'viewer' });
    expect(page.json()).toMatchObject({
      visit: { siteName: 'Rushy Sluice', why: 'Look at the panel.' },
      sheet: { hazards: sheet.hazards },
    });
    const list = await api.ask({
      url: '/api/v1/visits?from=2026-11-26T00:00:00Z&to=2026-11-27T00:00:00Z&site=rushy-sluice',
      as: 'viewer',
    });
    expect(list.json<{ visits: unknown[] }>().visits).toHaveLength(1);
  });

  it('are set out for only with every caution read, and come to the same when sent again and late', async () => {
    await plan();
    const url = `/api/v1/visits/${uuid(1)}/steps`;
    const refused = await post(url, { steps: [{ ...setOut, cautions: [] }] });
    expect(refused.statusCode).toBe(422);
    expect(refused.json()).toMatchObject({
      code: 'visit-step-refused',
      errors: [{ pointer: '/steps/0/cautions' }],
    });
    const once = await post(url, { steps: [back, setOut] });
    const again = await post(url, { steps: [setOut, back] });
    expect(once.json()).toMatchObject({ visit: { state: 'done', deeds: ['mended-cable'] } });
    expect(again.json()).toEqual(once.json());
  });

  it('do not take a time to be back that is none, nor a report from the future', async () => {
    await plan();
    const url = `/api/v1/visits/${uuid(1)}/steps`;
    for (const backBy of ['2026-11-26T09:00:00.000Z', '2026-11-28T09:00:00.000Z'])
      expect((await post(url, { steps: [{ ...setOut, backBy }] })).statusCode).toBe(422);
    const ahead = { ...setOut, at: '2026-11-26T13:30:00.000Z' };
    const taken = await post(url, { steps: [ahead] });
    expect(taken.json()).toMatchObject({ visit: { setOutAt: '2026-11-26T13:00:00.000Z' } });
  });

  it('are not planned for nor moved to a time that is over, and the answer says what to do', async () => {
    const visit = { siteId: 'rushy-sluice', at: '2026-11-24T09:00:00.000Z', why: 'x' };
    const refused = await post('/api/v1/visits', visit);
    expect(refused.statusCode).toBe(422);
    expect(refused.headers['content-type']).toContain('application/problem+json');
    expect(refused.json()).toMatchObject({ code: 'visit-refused', errors: [{ pointer: '/at' }] });
    const { detail } = refused.json<{ detail: string }>();
    // What, where, how to mend.
    expect(detail).toContain('2026-11-24T09:00:00.000Z');
    expect(detail).toContain('Give a time to come');
    const sites = ['tarn-gill', 'rushy-sluice'];
    const times = ['2026-11-26T14:00:00.000Z', AT];
    const round = { siteIds: sites, at: times[0], times, why: 'x' };
    expect((await post('/api/v1/rounds', round)).json()).toMatchObject({
      errors: [{ pointer: '/times/1' }],
    });
    await plan();
    const move = { at: AT, why: 'The ford.' };
    expect((await post(`/api/v1/visits/${uuid(1)}/move`, move)).statusCode).toBe(422);
    // A form is filled in for a while, and clocks differ.
    const justNow = { ...visit, at: '2026-11-26T12:57:00.000Z' };
    expect((await post('/api/v1/visits', justNow)).statusCode).toBe(201);
    // What was begun without coverage is told late.
    expect((await post('/api/v1/visits', { ...visit, begun: true })).statusCode).toBe(201);
  });

  it('of others are planned by whoever arranges people', async () => {
    const { account } = (await api.fleet.deps.accounts.findByEmail('builder@greywater.example'))!;
    const payload = { siteId: 'rushy-sluice', at: AT, why: 'x', personId: account.id };
    expect((await planned('/api/v1/visits', payload)).statusCode).toBe(403);
    expect((await planned('/api/v1/visits', payload, 'coordinator')).statusCode).toBe(201);
  });

  it('can be moved by who goes, and to others by whoever arranges people', async () => {
    const id = uuid(41);
    await planned('/api/v1/visits', { id, siteId: 'rushy-sluice', at: AT, why: 'The panel.' });
    const at = '2026-11-27T08:30:00.000Z';
    const move = (over: object = {}, as: 'volunteer' | 'coordinator' = 'volunteer') =>
      post(`/api/v1/visits/${id}/move`, { at, why: 'The ford is in flood.', ...over }, as);
    const moved = await move();
    expect(moved.statusCode).toBe(200);
    expect(moved.json<{ visit: object }>().visit).toMatchObject({ plannedAt: at, roundId: null });
    expect((await move({ personId: uuid(99) })).statusCode).toBe(403);
    expect((await move({ personId: uuid(99) }, 'coordinator')).statusCode).toBe(200);
    // It is another's now.
    expect((await move()).statusCode).toBe(403);
    expect((await move({ why: '' }, 'coordinator')).statusCode).toBe(400);
    await post(`/api/v1/visits/${id}/steps`, {
      steps: [{ id: uuid(42), at: AT, kind: 'call-off', why: 'Snow.' }],
    });
    expect((await move({}, 'coordinator')).statusCode).toBe(422);
  });

  it('of one trip share their round, in the order given, each site once', async () => {
    const round = { siteIds: ['tarn-gill', 'rushy-sluice'], at: AT, why: 'The round.' };
    const made = (await planned('/api/v1/rounds', round)).json<{
      visits: { siteId: string; roundId: string; place: number }[];
    }>();
    expect(made.visits.map(({ siteId, place }) => [siteId, place])).toEqual([
      ['tarn-gill', 1],
      ['rushy-sluice', 2],
    ]);
    expect(new Set(made.visits.map(({ roundId }) => roundId)).size).toBe(1);
    const twice = { ...round, siteIds: ['tarn-gill', 'tarn-gill'] };
    expect((await post('/api/v1/rounds', twice)).statusCode).toBe(422);
  });

  it('of one trip may each have a time, as many as there are sites', async () => {
    const times = [AT, '2026-11-26T09:55:00.000Z'];
    const round = { siteIds: ['tarn-gill', 'rushy-sluice'], at: AT, times, why: 'The round.' };
    const { visits } = (await planned('/api/v1/rounds', round)).json<{
      visits: { plannedAt: string }[];
    }>();
    expect(visits.map(({ plannedAt }) => plannedAt)).toEqual(times);
    const short = await post('/api/v1/rounds', { ...round, times: [AT] });
    expect(short.statusCode).toBe(422);
    expect(short.body).toContain('/times');
  });

  it('are suggested from a place on the earth, and only there', async () => {
    const ask = (from: string) => api.ask({ url: `/api/v1/rounds?from=${from}`, as: 'viewer' });
    expect((await ask('54.5,-2.25')).json()).toMatchObject({ travel: { fromLatitudeDeg: 54.5 } });
    expect((await ask('95,-2')).statusCode).toBe(400);
    expect((await ask('here')).statusCode).toBe(400);
  });

  it('do not tell the way to whoever does not go there', async () => {
    await plan();
    const whole = async (as: 'viewer' | 'volunteer') => {
      const page = await api.ask({ url: `/api/v1/visits/${uuid(1)}`, as });
      const field = await api.ask({ url: '/api/v1/sites/rushy-sluice/field-sheet', as });
      return [page.json<{ sheet: object }>().sheet, field.json<object>()];
    };
    for (const one of await whole('viewer'))
      expect(one).toMatchObject({ access: '', elevationM: 400 });
    for (const one of await whole('viewer')) expect(one).not.toHaveProperty('landOwner');
    for (const one of await whole('volunteer'))
      expect(one).toMatchObject({
        access: sheet.access,
        elevationM: 412,
        landOwner: sheet.landOwner,
      });
  });

  it('say why they were moved, from when and by whom', async () => {
    const moves = [
      {
        atMs: Date.parse('2026-11-25T08:00:00.000Z'),
        by: 'Wren Halloway',
        why: 'The ford is in flood.',
        fromMs: Date.parse(AT),
        toMs: Date.parse('2026-11-27T08:30:00.000Z'),
        fromPerson: 'Ash Fell',
        toPerson: 'Moss Tarn',
      },
    ];
    const trips = fakeTrips();
    api = await openApi({
      trips: {
        ...trips,
        visits: {
          ...trips.visits,
          find: async (id) => {
            const visit = await trips.visits.find(id);
            return visit && { ...visit, moves };
          },
        },
      },
    });
    await plan();
    const { visit } = (await api.ask({ url: `/api/v1/visits/${uuid(1)}`, as: 'viewer' })).json<{
      visit: { moves?: unknown };
    }>();
    expect(visit.moves).toEqual([
      {
        at: '2026-11-25T08:00:00.000Z',
        by: 'Wren Halloway',
        why: 'The ford is in flood.',
        fromAt: AT,
        toAt: '2026-11-27T08:30:00.000Z',
        fromPerson: 'Ash Fell',
        toPerson: 'Moss Tarn',
      },
    ]);
  });

  it('to sites that are not there are not known', async () => {
    for (const url of ['/api/v1/visits/none', '/api/v1/sites/elsewhere/field-sheet'])
      expect((await api.ask({ url, as: 'viewer' })).statusCode).toBe(404);
    const lost = await planned('/api/v1/visits', { siteId: 'NOT A SITE', at: AT, why: 'x' });
    expect(lost.statusCode).toBe(404);
  });
});

describe('the calendar', () => {
  let api: OpenApi;
  let trips: RoundsPort;
  beforeEach(async () => {
    trips = fakeTrips();
    const people: Person[] = [];
    api = await openApi({
      trips,
      watch: {
        ...(everyPort.watch as object),
        people: {
          find: async (id: string) => people.find((one) => one.id === id),
          list: async () => people,
        },
        siteGroups: {
          list: async () => [{ id: 'g', name: 'North', siteIds: ['tarn-gill' as SiteId] }],
        },
        rota: { shifts: async () => [] },
        rotaBetween: () => ({
          duties: people.map(({ id }) => ({
            shiftId: 's1',
            start: '2026-11-30T09:00',
            fromMs: Date.parse('2026-11-30T09:00:00Z'),
            untilMs: Date.parse('2026-12-07T09:00:00Z'),
            personId: id,
          })),
          gaps: [],
        }),
      } as never,
    });
    const { account } = (await api.fleet.deps.accounts.findByEmail('volunteer@greywater.example'))!;
    people.push({ ...account, groups: [] as readonly string[] } as Person);
    const base = {
      personId: account.id,
      plannedAtMs: Date.parse('2026-11-27T09:00:00Z'),
      plannedBy: 'Wren',
      madeAtMs: Date.parse('2026-11-20T09:00:00Z'),
      why: 'Commas, semicolons; and “quotes” in a sentence that is long enough to be folded over more than one line of the file.',
    };
    await trips.visits.plan([
      { ...base, id: uuid(1), siteId: 'rushy-sluice' as SiteId },
      { ...base, id: uuid(2), siteId: 'tarn-gill' as SiteId, personId: 'other' as never },
    ]);
  });
  const renew = async () =>
    (await api.ask({ method: 'POST', url: '/api/v1/me/calendar', as: 'volunteer' })).json<{
      path: string;
    }>().path;

  // RFC 5545: §3.1 lines end in CRLF and are folded at 75 octets; §3.6 VERSION and PRODID once; §3.6.1 UID and DTSTAMP in every
  // event; §3.3.5 form 2, UTC times.
  it('is one a calendar program can read, by RFC 5545', async () => {
    const answer = await api.ask({ url: await renew() });
    expect(answer.headers['content-type']).toBe('text/calendar; charset=utf-8');
    const lines = answer.body.split('\r\n');
    expect(answer.body.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
    expect(lines.filter((line) => Buffer.byteLength(line) > 75)).toEqual([]);
    const whole = answer.body.replaceAll('\r\n ', '').split('\r\n');
    const count = (start: string) => whole.filter((line) => line.startsWith(start)).length;
    expect([whole[0], count('VERSION:2.0'), count('PRODID:')]).toEqual(['BEGIN:VCALENDAR', 1, 1]);
    const events = count('BEGIN:VEVENT');
    expect(events).toBe(2);
    expect([count('UID:'), count('DTSTAMP:'), count('END:VEVENT')]).toEqual([
      events,
      events,
      events,
    ]);
    expect(whole).toContain('DTSTART:20261127T090000Z');
    expect(whole).toContain('DTSTART:20261130T090000Z');
    expect(whole.find((line) => line.startsWith('DESCRIPTION:'))).toContain(
      'Commas\\, semicolons\\; and “quotes”',
    );
  });

  it('has one’s own visits, or all on asking; the same facts give the same bytes', async () => {
    const path = await renew();
    const own = (await api.ask({ url: path })).body;
    expect(own).not.toContain(uuid(2));
    expect((await api.ask({ url: path })).body).toBe(own);
    expect((await api.ask({ url: `${path}?of=all` })).body).toContain(uuid(2));
  });

  it('is over at the old address once renewed, and when its owner ends it', async () => {
    const [first, second] = [await renew(), await renew()];
    expect((await api.ask({ url: first })).statusCode).toBe(404);
    expect((await api.ask({ url: second })).statusCode).toBe(200);
    await api.ask({ method: 'DELETE', url: '/api/v1/me/calendar', as: 'volunteer' });
    expect((await api.ask({ url: second })).statusCode).toBe(404);
    expect((await api.ask({ url: '/api/v1/me/calendar', as: 'volunteer' })).json()).toEqual({
      madeAt: null,
    });
  });
});
