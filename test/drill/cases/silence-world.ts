import { DAY_MS, HOUR_MS, MINUTE_MS, type SilenceCause } from '@duskline/domain';
import { createWeather, sound, type Mishap } from '@duskline/simulator';
import type { Expected, NodePlan, WorldPlan } from '../plan.ts';
import { pretendSite, type SiteWish } from './pretend-site.ts';
import { tunedTo } from './tuned-to-stop.ts';

const PAST_DAYS = 15;
/** What an hour's message costs the data plan, bytes: that of a message with two samples of such a node. */
export const MESSAGE_BYTES = 1500;

/** Two days in September: every way to fall silent, and the small things that rules watch for. */
export function silenceWorld(seed: number): WorldPlan {
  const startMs = Date.UTC(2026, 8, 1);
  const liveFromMs = startMs + PAST_DAYS * DAY_MS;
  const weather = createWeather(seed, startMs);
  const hour = (hours: number) => liveFromMs + hours * HOUR_MS;
  const onsetMs = hour(9.1 + (seed % 4));
  const lineDown = { fromMs: hour(32.5), untilMs: hour(40) };

  const node = (wish: SiteWish, more: Partial<NodePlan> = {}): NodePlan => ({
    site: pretendSite({ loadW: 1, panelW: 40, ...wish }),
    index: wish.place,
    ...more,
  });
  const silent = (cause: SilenceCause, fromMs = onsetMs): Expected => ({
    question: 'silence',
    cause,
    onsetMs: fromMs,
    afterSilentHours: 5,
  });
  const from = (atMs: number, what: Partial<Mishap>) => (nowMs: number) =>
    nowMs < atMs ? sound : { ...sound, ...what };
  const cutWithin = (fromMs: number, untilMs: number) => (atMs: number) =>
    atMs >= fromMs && atMs < untilMs ? ('cut' as const) : ('clear' as const);
  const stops = (plan: NodePlan): NodePlan => ({
    ...plan,
    site: tunedTo('farewell', plan.site, {
      ...{ seed, index: plan.index, weather, startMs },
      fromMs: hour(3),
      untilMs: hour(15),
      // Until the morning after.
      quietMs: 20 * HOUR_MS,
    }).site,
  });
  /** Dark as the fleet begins to live, and back in the course of the day. */
  const comesBack = (): NodePlan => {
    const plan = node({
      id: 'early-bird',
      name: 'Early Bird',
      place: 19,
      battery: { ratedWh: 140 },
    });
    const at = { seed, index: plan.index, weather, startMs, fromMs: hour(6), untilMs: hour(28) };
    const { site } = tunedTo('hello', plan.site, { ...at, quietMs: 7 * HOUR_MS });
    return {
      ...plan,
      site,
      fires: ['first-light'],
      silentAbout: ['overdue', 'repeated-restarts'],
    };
  };
  const small = { panelW: 12, battery: { ratedWh: 110 } };
  const relay = 'Greywater relay';
  const carrier = 'Fell Mobile';

  const nodes: NodePlan[] = [
    stops(
      node(
        { id: 'low-moss', name: 'Low Moss', place: 0, ...small },
        {
          name: 'dark declared',
          expected: silent('dark-declared', liveFromMs),
          fires: ['charge-low', 'forecast-low', 'dark-as-designed'],
          silentAbout: ['overdue', 'restart-out-of-reach', 'silent-unexplained', 'tamper'],
        },
      ),
    ),
    stops(
      node(
        { id: 'dim-hollow', name: 'Dim Hollow', place: 1, ...small },
        {
          name: 'dark inferred',
          expected: silent('dark-inferred', liveFromMs),
          farewellLost: true,
          fires: ['dark-as-designed'],
        },
      ),
    ),
    node(
      { id: 'dead-board', name: 'Dead Board', place: 2 },
      {
        name: 'broken',
        expected: silent('broken'),
        deadFromMs: onsetMs,
        fires: ['silent-unexplained'],
        silentAbout: ['dark-as-designed', 'tamper', 'overdue'],
      },
    ),
    node(
      { id: 'faint-mast', name: 'Faint Mast', place: 3 },
      {
        name: 'link of one',
        expected: silent('link-one', liveFromMs),
        mishap: (atMs) => ({
          ...sound,
          signalLossDb: (0.75 * Math.max(0, atMs - startMs)) / DAY_MS,
        }),
        reach: cutWithin(onsetMs, hour(32)),
        fires: ['signal-failing'],
      },
    ),
    ...[4, 5, 6, 7].map((place) =>
      node(
        { id: `relay-${place}`, name: `Relay Site ${place}`, place },
        {
          link: relay,
          reach: cutWithin(onsetMs, hour(32)),
          partOf: 'shared link',
          silentAbout: ['silent-unexplained'],
          ...(place === 4
            ? {
                name: 'shared link',
                expected: silent('link-shared'),
                fires: ['shared-link-down'],
              }
            : {}),
        },
      ),
    ),
    node(
      { id: 'last-byte', name: 'Last Byte', place: 8 },
      {
        name: 'data cap',
        expected: silent('data-cap', liveFromMs),
        link: carrier,
        dataPlan: { capBytes: MESSAGE_BYTES * (PAST_DAYS * 24 + 9 + (seed % 4)), renewsOnDay: 1 },
        stopsAtCap: true,
        fires: ['data-cap'],
        silentAbout: ['silent-unexplained'],
      },
    ),
    node(
      { id: 'bare-plinth', name: 'Bare Plinth', place: 9 },
      {
        name: 'theft',
        expected: silent('theft'),
        mishap: from(onsetMs, { panelConnected: false, mastMoved: seed % 2 === 1 }),
        deadFromMs: Math.ceil(onsetMs / HOUR_MS) * HOUR_MS + 5 * MINUTE_MS,
        fires: ['tamper'],
      },
    ),
    node(
      { id: 'wrong-year', name: 'Wrong Year', place: 10 },
      { name: 'clock reset', expected: silent('clock-reset'), clockResetMs: onsetMs },
    ),
    node(
      { id: 'sleepless', name: 'Sleepless', place: 11 },
      {
        name: 'awake then hung',
        expected: silent('awake-pattern', onsetMs - 34 * HOUR_MS),
        mishap: from(onsetMs - 34 * HOUR_MS, { loadTimes: 2, loadIsFlat: true }),
        deadFromMs: onsetMs,
        startRatio: 0.9,
      },
    ),
    node(
      { id: 'brim-full', name: 'Brim Full', place: 12, panelW: 60, loadW: 0.4 },
      {
        name: 'battery full',
        expected: {
          question: 'power',
          cause: 'battery-full',
          onsetMs: liveFromMs,
          lookAtMs: hour(31.5),
        },
        link: carrier,
        silentAbout: ['charging-fault', 'yield-loss'],
      },
    ),
    comesBack(),
    ...smallThings(node, { startMs, liveFromMs }),
    ...[17, 18].map((place) =>
      node(
        { id: `peer-${place}`, name: `Peer ${place}`, place },
        place === 17 ? { link: carrier } : {},
      ),
    ),
  ];
  return {
    name: 'silences',
    seed,
    startMs,
    liveFromMs,
    endMs: hour(38),
    stepMs: HOUR_MS,
    sampleMs: HOUR_MS / 2,
    spells: [],
    looksAt: ({ name, fires, partOf, silentAbout }, atMs) => {
      const hours = (atMs - liveFromMs) / HOUR_MS;
      const often = hours === 4 || (hours >= 8 && hours <= 17) || hours % 4 === 0 || hours >= 31;
      return name !== undefined || partOf !== undefined
        ? often
        : fires === undefined && silentAbout === undefined
          ? hours >= 34 || hours % 12 === 0
          : hours % 6 === 0;
    },
    nodes,
    // One of the three on that carrier is silent, for its own reason; and four silent sites are not the whole fleet.
    fleetSilentAbout: [
      { rule: 'shared-link-down', about: carrier },
      { rule: 'not-ours', untilMs: lineDown.fromMs },
    ],
    rotaGap: { fromMs: hour(4), untilMs: hour(12) },
    ourLineDown: lineDown,
    fleetCase: {
      name: 'our side',
      expected: {
        question: 'silence',
        cause: 'our-side',
        onsetMs: lineDown.fromMs,
        lookAtMs: hour(36),
      },
    },
  };
}

/** What no cause reaches: cards, clocks, sensors, restarts. One node each, nothing else wrong with it. */
function smallThings(
  node: (wish: SiteWish, more: Partial<NodePlan>) => NodePlan,
  { startMs, liveFromMs }: { readonly startMs: number; readonly liveFromMs: number },
): NodePlan[] {
  const gone = (atMs: number) => Math.max(0, atMs - startMs) / DAY_MS;
  return [
    node(
      { id: 'full-card', name: 'Full Card', place: 13 },
      {
        fires: ['storage-full'],
        // Three weeks from full on the morning of the first day.
        mishap: (atMs) => ({ ...sound, cardFreeBytes: 2.18e9 - 6e7 * gone(atMs) }),
      },
    ),
    node(
      { id: 'wet-plug', name: 'Wet Plug', place: 14 },
      {
        fires: ['sensor-fault'],
        mishap: (atMs) => ({ ...sound, airNoiseTimes: atMs < liveFromMs - DAY_MS ? 1 : 150 }),
      },
    ),
    node(
      { id: 'fits-and-starts', name: 'Fits And Starts', place: 15 },
      {
        fires: ['repeated-restarts'],
        mishap: (atMs) => ({ ...sound, restartsAfterHours: atMs < liveFromMs ? 0 : 4.6 }),
      },
    ),
    node(
      { id: 'all-but', name: 'All But', place: 20 },
      {
        silentAbout: [
          ...(['storage-full', 'sensor-fault', 'repeated-restarts', 'first-light'] as const),
          ...(['box-climate', 'signal-failing', 'data-cap', 'clock-wrong'] as const),
        ],
        dataPlan: { capBytes: 1.5 * MESSAGE_BYTES * 30 * 24, renewsOnDay: 1 },
        mishap: (atMs) => ({
          ...sound,
          cardFreeBytes: 2.8e9 - 6e7 * gone(atMs),
          airNoiseTimes: 3,
          restartsAfterHours: atMs < liveFromMs ? 0 : 13,
          boxWet: 0.6,
          signalLossDb: 0.2 * gone(atMs),
        }),
      },
    ),
    node(
      { id: 'no-time', name: 'No Time', place: 16 },
      {
        fires: ['clock-wrong'],
        mishap: (atMs) => ({ ...sound, clockUnset: atMs >= liveFromMs + 2 * HOUR_MS }),
      },
    ),
  ];
}
