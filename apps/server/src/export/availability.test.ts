import {
  nodeId,
  type AcceptedGap,
  type FieldNode,
  type NodeInterval,
  type Site,
} from '@duskline/domain';
import type { ExportSite } from '@duskline/export';
import { describe, expect, it } from 'vitest';
import { availabilityCsv, availabilityOf } from './availability.ts';

const HOUR = 3_600_000;
const FROM = Date.parse('2026-11-01T00:00:00Z');
const at = (hour: number): number => FROM + hour * HOUR;
const site = (id: string, name: string): Site => ({
  id: id as Site['id'],
  name,
  position: { latitudeDeg: 54.7, longitudeDeg: -2.3, elevationM: 400 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
});
const node = (id: number, name: string, siteId: Site['id']): FieldNode => ({
  id: nodeId(id),
  name: name as FieldNode['name'],
  siteId,
  commissionedAtMs: FROM,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 154, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.03,
    usualGapS: 300,
  },
});
const state = (
  name: NodeInterval['state'],
  from: number,
  to: number | undefined,
  cause = 'Because.',
): NodeInterval => ({
  state: name,
  fromMs: at(from),
  ...(to === undefined ? {} : { toMs: at(to) }),
  cause,
  evidence: [],
});

const weir = site('upper-weir', '=1+1');
const bare = site('bare-hill', 'Bare Hill');
const sites: readonly ExportSite[] = [
  { site: weir, node: node(1, 'upper-weir-1', weir.id) },
  { site: bare },
];
const accepted: AcceptedGap = {
  id: '1',
  siteId: weir.id,
  fromMs: at(20),
  untilMs: at(40),
  by: 'Wren',
  reason: '+2 days of storm were expected',
};
/** A hundred hours, of which ten are before anything is known of the node. */
const intervals: readonly NodeInterval[] = [
  state('up', 10, 24),
  state('dark-as-designed', 24, 48, 'It said farewell.'),
  state('low', 48, 54),
  state('link-down', 54, 60),
  state('off-for-work', 60, 63),
  state('overdue', 63, 70),
  state('silent-unexplained', 70, 75, 'Its readings are dated by a clock that cannot be trusted.'),
  state('up', 75, undefined),
];
const store = {
  intervals: { list: async () => intervals },
  acceptedGaps: { between: async () => [accepted] },
  diagnoses: { of: async () => ({}) },
} as unknown as Parameters<typeof availabilityOf>[0];
const report = (nowHour: number) =>
  availabilityOf(store, sites, { fromMs: FROM, toMs: at(100), nowMs: at(nowHour) });
const hoursOf = (one: Awaited<ReturnType<typeof report>>['sites'][number]) => ({
  up: one.up.hours,
  darkAsDesigned: one.darkAsDesigned.hours,
  fault: one.fault.hours,
  link: one.link.hours,
  clock: one.clock.hours,
  work: one.work.hours,
  unknown: one.unknown.hours,
});

describe('where the time of a site went', () => {
  it('is split by cause, and the parts are the whole', async () => {
    const [one] = (await report(1000)).sites;
    expect(hoursOf(one!)).toEqual({
      // 10–24, low 48–54, and from 75 on.
      up: 14 + 6 + 25,
      darkAsDesigned: 24,
      fault: 7,
      link: 6,
      clock: 5,
      work: 3,
      // Before the node was heard of.
      unknown: 10,
    });
    expect(one?.up.ratio).toBe(0.45);
    // Of the hours 20 to 40 that were accepted, 24 to 40 were dark.
    expect(one?.accepted).toMatchObject([{ by: 'Wren', hours: 16 }]);
  });

  it('begins when the node was put up: it was not down before', async () => {
    const late: readonly ExportSite[] = [
      { site: weir, node: { ...node(1, 'upper-weir-1', weir.id), commissionedAtMs: at(10) } },
    ];
    const range = { fromMs: FROM, toMs: at(100), nowMs: at(1000) };
    const [one] = (await availabilityOf(store, late, range)).sites;
    expect(one?.since).toBe('2026-11-01T10:00:00Z');
    expect(one?.unknown).toEqual({ hours: 0, ratio: 0 });
    // 45 of 90 hours.
    expect(one?.up).toEqual({ hours: 45, ratio: 0.5 });
    // Entered at hour 50, with a past of its own from hour 10 on: that past counts.
    const entered = [
      { site: weir, node: { ...node(1, 'upper-weir-1', weir.id), commissionedAtMs: at(50) } },
    ];
    expect((await availabilityOf(store, entered, range)).sites[0]).toEqual(one);
    const before = await availabilityOf(store, late, { ...range, toMs: at(5) });
    expect(before.sites[0]?.up).toEqual({ hours: 0, ratio: 0 });
  });

  it('weighs the fleet by hours, and leaves out whoever was never heard', async () => {
    const of: Readonly<Record<number, readonly NodeInterval[]>> = {
      // 90 hours, 81 of them up.
      1: [state('up', 10, 91), state('dark-as-designed', 91, undefined)],
      // 10 hours, 1 of them up; 20 hours before were unproved.
      2: [state('not-yet-proved', 70, 90), state('up', 90, 91), state('overdue', 91, undefined)],
      3: [state('not-yet-proved', 99, undefined)],
    };
    const three = [1, 2, 3].map((id) => {
      const place = site(`site-${id}`, `Site ${id}`);
      const beganMs = of[id]![0]!.fromMs;
      return { site: place, node: { ...node(id, `n-${id}`, place.id), commissionedAtMs: beganMs } };
    });
    const many = {
      ...store,
      intervals: { list: async (id: number) => of[id] },
    } as unknown as typeof store;
    const range = { fromMs: FROM, toMs: at(100), nowMs: at(1000) };
    const { fleet } = await availabilityOf(many, [...three, { site: site('bare', 'Bare') }], range);
    // 82 of 100 hours: neither the mean of 90, 10 and 0 % nor of 90 and 10 %.
    expect(fleet).toEqual({ up: { hours: 82, ratio: 0.82 }, sites: 2, neverHeard: 1 });
    const none = await availabilityOf(many, three.slice(2), range);
    expect(none.fleet).toEqual({ up: { hours: 0, ratio: 0 }, sites: 0, neverHeard: 1 });
  });

  it('ends now: what is to come is not counted', async () => {
    const cut = await report(50);
    expect(cut.to).toBe('2026-11-03T02:00:00Z');
    const [one] = cut.sites;
    expect(hoursOf(one!)).toEqual({
      up: 14 + 2,
      darkAsDesigned: 24,
      fault: 0,
      link: 0,
      clock: 0,
      work: 0,
      unknown: 10,
    });
    // Asked before it begins, it is empty and divides by nothing.
    expect((await report(-5)).sites[0]?.up).toEqual({ hours: 0, ratio: 0 });
  });

  it('is a CSV of one row for each node whose hours and percents add up', async () => {
    const lines = availabilityCsv(await report(1000)).split('\r\n');
    expect(lines[0]).toBe(
      'site_id,name,node_id,from,to,up_h,up_percent,dark_as_designed_h,dark_as_designed_percent,fault_h,fault_percent,link_h,link_percent,clock_h,clock_percent,off_for_work_h,off_for_work_percent,unknown_h,unknown_percent,accepted_gaps',
    );
    // A site without a node has no row; a name that a spreadsheet would run is guarded.
    expect(lines.slice(1)).toEqual([
      `upper-weir,"'=1+1",upper-weir-1,2026-11-01T00:00:00Z,2026-11-05T04:00:00Z,45,45,24,24,7,7,6,6,5,5,3,3,10,10,"2026-11-01T20:00:00Z to 2026-11-02T16:00:00Z (16.0 h dark), Wren: +2 days of storm were expected"`,
      '',
    ]);
  });
});
