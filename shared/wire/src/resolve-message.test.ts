import { describe, expect, it } from 'vitest';
import { failed } from '@duskline/domain';
import { decodeMessage } from './decode-message.ts';
import { resolveMessage } from './resolve-message.ts';

const NOW = Date.UTC(2026, 10, 25, 12);
const NOW_S = NOW / 1000;
type Kind = 'live' | 'backlog' | 'state';

function resolve(pack: unknown, kind: Kind = 'live', receivedAtMs = NOW) {
  const decoded = decodeMessage(
    {
      topic: `v1/rushy-sluice/up/${kind}`,
      payload: new TextEncoder().encode(JSON.stringify(pack)),
      receivedAtMs,
    },
    { inflate: () => failed('corrupt' as const) },
  );
  return decoded.ok ? resolveMessage(decoded.value, receivedAtMs) : decoded;
}
function accepted(pack: unknown, kind?: Kind) {
  const resolved = resolve(pack, kind);
  if (!resolved.ok) throw new Error(resolved.fault.reason);
  return resolved.value;
}
function faultOf(pack: unknown, kind?: Kind) {
  const resolved = resolve(pack, kind);
  if (resolved.ok) throw new Error('was accepted');
  return resolved.fault;
}
/** [seconds from receipt, time quality] */
const dates = (pack: unknown, kind?: Kind) =>
  accepted(pack, kind).samples.map((s) => [(s.observedAtMs - NOW) / 1000, s.timeQuality]);

const volts = (t?: number, v = 12.6) => ({
  n: 'batt_v',
  u: 'V',
  v,
  ...(t === undefined ? {} : { t }),
});
const uptime = (v: number, t?: number) => ({
  n: 'uptime',
  u: 's',
  v,
  ...(t === undefined ? {} : { t }),
});
const place = (t?: number) =>
  [
    { n: 'boot', v: 7, ...(t === undefined ? {} : { t }) },
    { n: 'seq', v: 41, ...(t === undefined ? {} : { t }) },
  ] as const;

describe('dating and laying out a message', () => {
  it('makes one row a moment, metrics sorted, times ascending', () => {
    const message = accepted([
      ...place(),
      { bt: NOW_S - 60, n: 'panel_w', u: 'W', v: 30 },
      volts(),
      { n: 'air_temp', u: 'Cel', v: 4 },
      { bt: NOW_S - 120, n: 'panel_w', u: 'W', v: 20 },
      volts(undefined, 12.5),
      { n: 'air_temp', u: 'Cel', v: 3 },
    ]);
    expect(message).toEqual({
      node: 'rushy-sluice',
      lane: 'live',
      receivedAtMs: NOW,
      place: { boot: 7, seq: 41 },
      samples: [
        {
          observedAtMs: NOW - 120_000,
          metrics: ['air_temp', 'batt_v', 'panel_w'],
          values: [3, 12.5, 20],
          timeQuality: 'synced',
        },
        {
          observedAtMs: NOW - 60_000,
          metrics: ['air_temp', 'batt_v', 'panel_w'],
          values: [4, 12.6, 30],
          timeQuality: 'synced',
        },
      ],
    });
    expect(message.samples[0]?.metrics).toBe(message.samples[1]?.metrics);
  });

  it('lays rows out alike however the pack orders them', () => {
    const message = accepted([
      { bt: NOW_S - 60, n: 'panel_w', u: 'W', v: 30 },
      volts(),
      { bt: NOW_S - 30, ...volts() },
      { n: 'panel_w', u: 'W', v: 31 },
    ]);
    expect(message.samples.map(({ metrics, values }) => [metrics, values])).toEqual([
      [
        ['batt_v', 'panel_w'],
        [12.6, 30],
      ],
      [
        ['batt_v', 'panel_w'],
        [12.6, 31],
      ],
    ]);
  });

  it('takes the lane from the topic', () => {
    expect(accepted([volts()], 'live').lane).toBe('live');
    expect(accepted([volts()], 'backlog').lane).toBe('backlog');
    expect(accepted([{ n: 'hello', vb: true }], 'state').lane).toBe('live');
  });

  it('keeps milliseconds', () => {
    expect(accepted([volts(NOW_S - 0.001)]).samples[0]?.observedAtMs).toBe(NOW - 1);
  });

  it('counts relative times from receipt and says so', () => {
    expect(dates([volts(), volts(-30)])).toEqual([
      [-30, 're-dated'],
      [0, 're-dated'],
    ]);
  });

  it.each([
    ['5 minutes ahead', 300, 'synced'],
    ['10 years ago is before 2020', -9.9e8, 'fault'],
    ['more than 5 minutes ahead', 301, 'unsure'],
    ['a day ahead', 86_400, 'unsure'],
    ['more than a day ahead', 86_401, 'fault'],
  ])('with no uptime, %s', (_case, offsetS, expected) => {
    const resolved = resolve([volts(NOW_S + offsetS)]);
    expect(resolved.ok ? resolved.value.samples[0]?.timeQuality : 'fault').toBe(expected);
  });

  it('has its first possible moment at the start of 2020', () => {
    const start = Date.UTC(2020, 0, 1) / 1000;
    expect(accepted([volts(start)]).samples[0]?.timeQuality).toBe('synced');
    expect(faultOf([volts(start - 0.001)]).code).toBe('time-impossible');
  });

  it('believes a clock no more than its own word for it', () => {
    const at = { bt: NOW_S };
    expect(
      dates([
        { ...at, ...volts() },
        { n: 'clock_src', vs: 'battery clock' },
      ]),
    ).toEqual([[0, 'held-over']]);
    expect(
      dates([
        { ...at, ...volts() },
        { n: 'clock_src', vs: 'none' },
      ]),
    ).toEqual([[0, 'unsure']]);
    expect(
      dates([
        { ...at, ...volts() },
        { n: 'clock_src', vs: 'network' },
      ]),
    ).toEqual([[0, 'synced']]);
  });

  it('says in words what is wrong with a time', () => {
    const future = faultOf([volts(Date.UTC(2036, 1, 7, 6, 28, 16) / 1000)]);
    expect(future.code).toBe('time-in-future');
    expect(future.reason).toContain('2036-02-07 06:28:16 UTC, 9 years after');
    const past = faultOf([volts(Date.UTC(2000, 0, 1) / 1000)]);
    expect(past.code).toBe('time-impossible');
    expect(past.reason).toContain('2000-01-01 00:00:00 UTC');
  });

  it.each([
    ['milliseconds', 1e3],
    ['microseconds', 1e6],
    ['nanoseconds', 1e9],
  ])('recognises %s', (unit, factor) => {
    expect(faultOf([volts(NOW_S * factor)]).reason).toContain(`looks like ${unit}`);
  });

  it.each([1e30, 1e300, -1e300])('survives a time of %d', (t) => {
    expect(faultOf([volts(t)]).code).toMatch(/^time-/);
  });
});

describe('a clock that is wrong', () => {
  const wrong = Date.UTC(2000, 0, 1) / 1000;

  it('is put right by the uptime of a fresh message', () => {
    const pack = [{ bt: wrong, ...volts() }, ...place(), uptime(120)];
    expect(dates(pack)).toEqual([[0, 're-dated']]);
  });

  it('is put right for each sample by its own uptime (trade.md §4.3)', () => {
    const pack = [
      ...place(),
      uptime(4000),
      { bt: wrong, ...volts() },
      uptime(400),
      { bt: wrong + 30, ...volts() },
      uptime(430),
    ];
    expect(dates(pack, 'backlog')).toEqual([
      [-3600, 're-dated'],
      [-3570, 're-dated'],
    ]);
  });

  it('is put right although it jumped between two samples', () => {
    const pack = [
      ...place(),
      uptime(4000),
      { bt: wrong, ...volts() },
      uptime(400),
      { bt: wrong + 1e7, ...volts() },
      uptime(430),
    ];
    expect(dates(pack, 'backlog')).toEqual([
      [-3600, 're-dated'],
      [-3570, 're-dated'],
    ]);
  });

  it('is put right by its own steady pace where only the message has an uptime', () => {
    const pack = [{ bt: wrong, ...volts(-60) }, volts(0), ...place(), uptime(500)];
    expect(dates(pack)).toEqual([
      [-60, 're-dated'],
      [0, 're-dated'],
    ]);
  });

  it('leaves samples of the same message alone that were dated well', () => {
    const pack = [
      ...place(),
      uptime(4000),
      { bt: wrong, ...volts() },
      uptime(400),
      { bt: NOW_S - 30, ...volts() },
    ];
    expect(dates(pack, 'backlog')).toEqual([
      [-3600, 're-dated'],
      [-30, 'synced'],
    ]);
  });

  it('cannot be put right from an uptime of another boot', () => {
    const pack = [...place(), uptime(100), { bt: wrong, ...volts() }, uptime(99_000)];
    expect(faultOf(pack, 'backlog').code).toBe('time-impossible');
  });

  it('cannot be put right from the backlog without the uptime of sending', () => {
    const pack = [{ bt: wrong, ...volts() }, uptime(400)];
    expect(faultOf(pack, 'backlog').code).toBe('time-impossible');
  });

  it('cannot be put right from the backlog by an uptime that may be as old as the readings', () => {
    const pack = [{ bt: wrong, ...volts() }, ...place(), uptime(400)].map((record) => ({
      ...record,
      bt: wrong,
    }));
    expect(dates(pack, 'live')).toEqual([[0, 're-dated']]);
    expect(faultOf(pack, 'backlog').code).toBe('time-impossible');
  });

  it('is put right from the backlog by an uptime said to be of now, with or without a place', () => {
    const pack = [uptime(4000), { bt: wrong, ...volts() }, uptime(400)];
    expect(dates(pack, 'backlog')).toEqual([[-3600, 're-dated']]);
    expect(dates([...place(), ...pack], 'backlog')).toEqual([[-3600, 're-dated']]);
  });

  it('cannot be put right to a time before 2020', () => {
    const pack = [...place(), uptime(4e8), { bt: wrong, ...volts() }, uptime(1)];
    expect(faultOf(pack, 'backlog').code).toBe('time-impossible');
  });

  it('is put right when it runs ten years ahead, within a minute (reliability.md E7)', () => {
    const ahead = NOW_S + 10 * 365 * 86_400;
    const pack = [...place(), uptime(90_000), { bt: ahead, ...volts() }, uptime(3_600)];
    expect(dates(pack, 'backlog')).toEqual([[-86_400, 're-dated']]);
  });
});

describe('the uptime of sending', () => {
  it('joins the newest sample that was taken as the message was sent', () => {
    const message = accepted([...place(), uptime(3600), { bt: NOW_S - 2, ...volts() }]);
    expect(message.samples).toEqual([
      {
        observedAtMs: NOW - 2000,
        metrics: ['batt_v', 'uptime'],
        values: [12.6, 3600],
        timeQuality: 'synced',
      },
    ]);
  });

  it('makes no row beside samples that are older', () => {
    const pack = [...place(), uptime(3600), { bt: NOW_S - 3600, ...volts() }];
    expect(accepted(pack, 'backlog').samples.map(({ metrics }) => metrics)).toEqual([['batt_v']]);
  });

  it('does not replace the uptime a sample has of its own', () => {
    const pack = [...place(), uptime(3601), { bt: NOW_S - 1, ...volts() }, uptime(3600)];
    expect(accepted(pack).samples.map(({ values }) => values)).toEqual([[12.6, 3600]]);
  });

  it('is a reading like any other when it comes alone', () => {
    expect(accepted([uptime(3600)]).samples).toMatchObject([
      { metrics: ['uptime'], values: [3600] },
    ]);
  });
});

describe('the same metric twice at one time', () => {
  it('counts once when both say the same', () => {
    expect(accepted([volts(), volts()]).samples).toMatchObject([
      { metrics: ['batt_v'], values: [12.6] },
    ]);
  });

  it('is refused when they differ', () => {
    const fault = faultOf([volts(-30), volts(0), volts(-30, 12.7)]);
    expect(fault.code).toBe('reading-doubled');
    expect(fault.reason).toContain('Record 3 (batt_v) is 12.7');
    expect(fault.reason).toContain('record 1 is 12.6');
  });

  it('is seen also in a row written like the one before it', () => {
    expect(faultOf([volts(-60), volts(-30), volts(-30, 12.7)]).code).toBe('reading-doubled');
  });

  it('is seen where two times are the same millisecond', () => {
    const pack = [volts(NOW_S - 1), volts(NOW_S - 1 + 0.0001, 12.7)];
    expect(faultOf(pack).code).toBe('reading-doubled');
  });

  it('keeps the less trusted quality where two times meet', () => {
    const pack = [volts(NOW_S - 30), { n: 'panel_w', u: 'W', v: 3, t: -30 }];
    expect(accepted(pack).samples).toMatchObject([
      { metrics: ['batt_v', 'panel_w'], timeQuality: 're-dated' },
    ]);
  });
});

describe('what a node says of itself', () => {
  it('is dated, with its charge as a ratio, and its readings are kept', () => {
    const message = accepted(
      [
        { bt: NOW_S - 4, n: 'farewell', vs: 'charge low' },
        { n: 'charge', u: '%EL', v: 21 },
      ],
      'state',
    );
    expect(message.word).toEqual({
      kind: 'farewell',
      atMs: NOW - 4000,
      reason: 'charge low',
      chargeRatio: 0.21,
    });
    expect(message.samples).toMatchObject([{ metrics: ['charge'], values: [21] }]);
  });

  it('brings the cause of the boot as a word', () => {
    const pack = [
      { n: 'hello', vb: true },
      { n: 'boot_cause', vs: 'brown-out' },
    ];
    expect(accepted(pack, 'state').word).toEqual({
      kind: 'hello',
      atMs: NOW,
      bootCause: 'brown-out',
    });
  });

  it('counts as said on receipt when the clock is wrong', () => {
    const wrong = Date.UTC(2000, 0, 1) / 1000;
    const message = accepted(
      [
        { bt: wrong, n: 'farewell', vs: 'charge low' },
        { n: 'charge', u: '%EL', v: 21 },
      ],
      'state',
    );
    expect(message.word?.atMs).toBe(NOW);
    expect(message.samples).toMatchObject([{ observedAtMs: NOW, timeQuality: 're-dated' }]);
  });

  it('says no more than that the link dropped when it is the will', () => {
    expect(accepted([{ n: 'dropped', vb: true }, volts()], 'state')).toEqual({
      node: 'rushy-sluice',
      lane: 'live',
      receivedAtMs: NOW,
      samples: [],
      word: { kind: 'dropped', atMs: NOW },
    });
  });
});
