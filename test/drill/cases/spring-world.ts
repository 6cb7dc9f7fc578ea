import { DAY_MS, HOUR_MS } from '@duskline/domain';
import {
  createWeather,
  normalAt,
  seedOf,
  sound,
  throughDust,
  withSpells,
  type Mishap,
  type SkyAt,
  type Spell,
} from '@duskline/simulator';
import type { Expected, NodePlan, WorldPlan } from '../plan.ts';
import { carriedLoad } from './carried-load.ts';
import { pretendSite, type SiteWish } from './pretend-site.ts';
import { tunedTo } from './tuned-to-stop.ts';

const PAST_DAYS = 24;
const LIVE_DAYS = 12;
const STEP_MS = 12 * HOUR_MS;

/** Six weeks of a dry spring: what happens to panels, chargers, boards and batteries. */
export function springWorld(seed: number): WorldPlan {
  const startMs = Date.UTC(2026, 2, 10);
  const liveFromMs = startMs + PAST_DAYS * DAY_MS;
  const endMs = liveFromMs + LIVE_DAYS * DAY_MS;
  const spells: Spell[] = [{ fromMs: startMs, untilMs: endMs + DAY_MS, dryCloudShare: 0.85 }];
  const weather = withSpells(createWeather(seed, startMs), spells);
  const morning = (day: number) => Math.floor(liveFromMs / DAY_MS + day) * DAY_MS + 7.5 * HOUR_MS;
  const chance = (name: string) => normalAt(seed, startMs + seedOf(name));
  const onset = (name: string) => liveFromMs + (2 + 0.4 * chance(name)) * DAY_MS;

  /** `isLean`: its battery is meant to be emptied and filled again; else its load is carried whatever the weather. */
  type More = Partial<NodePlan> & { readonly share?: number; readonly isLean?: boolean };
  const node = (wish: SiteWish, more: More = {}): NodePlan => {
    const { share = 0.8, isLean = false, startRatio = 0.5, ...rest } = more;
    const index = wish.place;
    const onsetMs = rest.expected?.onsetMs;
    const site = carriedLoad(
      // Days of autonomy, as a builder plans them: a panel that carries one to two watts, and a battery for a week.
      pretendSite({ panelW: 11, ...wish }),
      index,
      {
        ...{ weather, fromMs: startMs, untilMs: endMs, startRatio, isLean },
        ...(onsetMs === undefined ? {} : { onsetMs }),
      },
      share,
    );
    return { site, index, startRatio, ...rest };
  };
  const power = (cause: Expected['cause'], onsetMs: number, lookDay: number): Expected => ({
    question: 'power',
    cause,
    onsetMs,
    lookAtMs: morning(lookDay),
  });
  const from = (atMs: number, what: Partial<Mishap>) => (nowMs: number) =>
    nowMs < atMs ? sound : { ...sound, ...what };
  const skyAt =
    (place: number, elevationM: number): SkyAt =>
    (atMs) =>
      weather.at(atMs, place, elevationM);

  const leavesMs = morning(9);
  const wind = skyAt(4, 130);
  const connectorMs = onset('connector');
  const nodes: NodePlan[] = [
    node(
      { id: 'dusty-howe', name: 'Dusty Howe', place: 0 },
      {
        name: 'soiling',
        // Sized by a careful builder: soiled by a third it still carries its load.
        share: 0.6,
        expected: power('soiling', startMs, 11),
        fires: ['yield-loss'],
        fate: {
          throughGlassAt: throughDust(skyAt(0, 90), startMs, 0.0125 + 0.0015 * chance('dust')),
        },
      },
    ),
    node(
      {
        id: 'alder-carr',
        name: 'Alder Carr',
        place: 1,
        drill: { kind: 'leaves', fromAzimuthDeg: 130, toAzimuthDeg: 180, beamLost: 0.85 },
      },
      {
        name: 'shade',
        expected: { ...power('shade', leavesMs - 35 * DAY_MS, 9), lookAtMs: leavesMs },
      },
    ),
    node(
      { id: 'wind-gap', name: 'Wind Gap', place: 2 },
      {
        name: 'panel-moved',
        expected: power('panel-moved', onset('moved'), 8),
        fate: {
          mountAt: (atMs) =>
            atMs < onset('moved')
              ? { tiltDeg: 68, azimuthDeg: 180 }
              : { tiltDeg: 60, azimuthDeg: 180 + (chance('side') > 0 ? 55 : -55) },
        },
      },
    ),
    node(
      { id: 'gale-stile', name: 'Gale Stile', place: 4 },
      {
        name: 'connector in gusts',
        expected: power('connector', connectorMs, 7),
        // A loose plug makes contact by the mood of the wind, anew every few minutes.
        mishap: (atMs) =>
          atMs < connectorMs ||
          normalAt(seed + 7, Math.floor(atMs / (HOUR_MS / 2))) * 1.6 > wind(atMs).windMs - 3.2
            ? sound
            : { ...sound, panelConnected: false },
      },
    ),
    node(
      { id: 'rust-post', name: 'Rust Post', place: 5 },
      {
        name: 'connector gone',
        expected: power('connector', onset('gone'), 6),
        fires: ['charging-fault'],
        silentAbout: ['tamper'],
        mishap: from(onset('gone'), { panelConnected: false }),
      },
    ),
    node(
      { id: 'box-end', name: 'Box End', place: 6 },
      {
        name: 'charger',
        expected: power('charger', onset('charger'), 6),
        fires: ['charging-fault'],
        mishap: from(onset('charger'), { chargerWorks: false }),
      },
    ),
    node(
      { id: 'wake-field', name: 'Wake Field', place: 7 },
      {
        name: 'stuck awake',
        expected: power('stuck-awake', onset('awake'), 5),
        fires: ['load-abnormal'],
        mishap: from(onset('awake'), { loadTimes: 1.9, loadIsFlat: true }),
        share: 0.7,
      },
    ),
    node(
      { id: 'wet-nook', name: 'Wet Nook', place: 8 },
      {
        name: 'water',
        expected: power('water', onset('water'), 6),
        fires: ['box-climate'],
        mishap: from(onset('water'), { boxWet: 0.97 }),
      },
    ),
    node(
      {
        id: 'old-cell',
        name: 'Old Cell',
        place: 9,
        holds: 0.5,
        battery: { ratedWh: 90 },
      },
      {
        name: 'battery aged',
        expected: power('battery-aged', startMs, 6),
        fires: ['battery-ageing'],
        mishap: () => ({ ...sound, resistanceTimes: 2.5 }),
        share: 0.75,
        isLean: true,
      },
    ),
    ...unasked(),
    ...[10, 11, 12].map((place) => node({ id: `peer-${place}`, name: `Peer ${place}`, place })),
  ];
  /** What no cause reaches: a wish not followed, a return that fails; and nodes that come near to a rule. */
  function unasked(): NodePlan[] {
    const night = { fromMs: liveFromMs + 6 * HOUR_MS, untilMs: liveFromMs + 36 * HOUR_MS };
    const late = pretendSite({
      ...{ id: 'late-riser', name: 'Late Riser', place: 13, panelW: 11 },
      battery: { ratedWh: 60 },
    });
    const at = { seed, index: 13, weather, startMs, ...night, quietMs: 4 * HOUR_MS };
    const stops = tunedTo('farewell', late, at);
    return [
      {
        site: stops.site,
        index: 13,
        fires: ['overdue'],
        silentAbout: ['silent-unexplained'],
        deadFromMs: stops.atMs + 2 * HOUR_MS,
      },
      node(
        { id: 'deaf-ear', name: 'Deaf Ear', place: 14 },
        {
          fires: ['settings-not-in-force'],
          asked: { request: { id: 'unheard', logEveryS: 600 }, follows: false },
        },
      ),
      node(
        { id: 'good-ear', name: 'Good Ear', place: 15 },
        {
          asked: { request: { id: 'heard', logEveryS: 600 }, follows: true },
          startRatio: 0.32,
          silentAbout: ['settings-not-in-force', 'charge-low', 'forecast-low'],
          share: 0.7,
        },
      ),
      node(
        { id: 'fair-cell', name: 'Fair Cell', place: 16, holds: 0.9, battery: { ratedWh: 90 } },
        {
          silentAbout: ['battery-ageing', 'load-abnormal'],
          mishap: from(onset('fair'), { loadTimes: 1.15 }),
          share: 0.55,
          isLean: true,
        },
      ),
    ];
  }
  return {
    name: 'spring',
    seed,
    startMs,
    liveFromMs,
    endMs,
    stepMs: STEP_MS,
    sampleMs: HOUR_MS / 2,
    looksAt: ({ name, fires, silentAbout }, atMs) =>
      name !== undefined || fires !== undefined || silentAbout !== undefined || atMs % DAY_MS === 0,
    spells,
    // Each runs down for a reason of its own.
    fleetSilentAbout: [{ rule: 'bad-weather' }],
    nodes,
  };
}
