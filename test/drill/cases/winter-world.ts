import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { createWeather, sound, throughSnow, withSpells, type Spell } from '@duskline/simulator';
import type { NodePlan, WorldPlan } from '../plan.ts';
import { carriedLoad } from './carried-load.ts';
import { pretendSite, type SiteWish } from './pretend-site.ts';
import { tunedTo } from './tuned-to-stop.ts';

const PAST_DAYS = 20;
const LIVE_DAYS = 9;
const START_RATIO = 0.85;

/** Four weeks of winter: a clear cold spell, then a front with snow that lies. */
export function winterWorld(seed: number): WorldPlan {
  const startMs = Date.UTC(2027, 0, 8);
  const liveFromMs = startMs + PAST_DAYS * DAY_MS;
  const endMs = liveFromMs + LIVE_DAYS * DAY_MS;
  const day = (days: number) => liveFromMs + days * DAY_MS;
  const spells: Spell[] = [
    { fromMs: day(0.2), untilMs: day(4.5), warmerK: -9, dryCloudShare: 0.7 },
    { fromMs: day(4.4), untilMs: endMs + DAY_MS, warmerK: -8 },
    { fromMs: day(5.2), untilMs: day(6.2), frontMmPerHour: 0.5 },
  ];
  const weather = withSpells(createWeather(seed, startMs), spells);
  const node = (wish: SiteWish, more: Partial<NodePlan> = {}): NodePlan => {
    const index = wish.place;
    const site = pretendSite({ battery: { ratedWh: 450 }, ...wish });
    const { elevationM } = site.position;
    const fate = more.fate ?? {
      throughGlassAt: throughSnow((atMs) => weather.at(atMs, index, elevationM), startMs),
    };
    const stretch = {
      ...{ weather, fromMs: startMs, untilMs: endMs, startRatio: START_RATIO, fate },
      chargesCold: more.mishap?.(startMs).protectionFailed === true,
      // Nobody who builds in a bog reckons with snow that lies for days.
      onsetMs: more.expected?.onsetMs ?? day(5.2),
    };
    return {
      site: carriedLoad(site, index, stretch, 0.85),
      index,
      startRatio: START_RATIO,
      fate,
      ...more,
    };
  };
  /** Long since dark, and drawing more while off than its little panel brings in January. */
  const neverBack = (): NodePlan => {
    const site = pretendSite({
      ...{ id: 'deep-gill', name: 'Deep Gill', place: 9, panelW: 5, loadW: 1.4 },
      power: { offStateDrawW: 0.6 },
    });
    return {
      site,
      index: 9,
      startRatio: 0.25,
      fires: ['restart-out-of-reach'],
      silentAbout: ['silent-unexplained'],
    };
  };
  /** Sound, and too lean for a week without sun: one weather for all of them. */
  const lean = (id: string, name: string, place: number): NodePlan => {
    const wish = pretendSite({ id, name, place, panelW: 4, battery: { ratedWh: 450 } });
    const at = { seed, index: place, weather, startMs, fromMs: day(5.5), untilMs: day(8) };
    const { site } = tunedTo('farewell', wish, { ...at, quietMs: 6 * HOUR_MS });
    return {
      site,
      index: place,
      fires: ['bad-weather'],
      silentAbout: ['charging-fault', 'load-abnormal', 'overdue'],
    };
  };
  const morning = (days: number) => day(Math.floor(days)) + 8 * HOUR_MS;
  const lead = { chemistry: 'lead-acid-agm' as const, ratedWh: 960, seriesCells: 6 };
  return {
    name: 'winter',
    seed,
    startMs,
    liveFromMs,
    endMs,
    stepMs: HOUR_MS,
    sampleMs: HOUR_MS / 2,
    // Twice a day; hourly about one noon, when cold cells are charged.
    looksAt: ({ name, fires }, atMs) => {
      const hours = (atMs - liveFromMs) / HOUR_MS;
      if (name === undefined && fires !== undefined && hours >= 58 && hours <= 63) return true;
      return hours % (name === undefined ? 24 : 12) === 8;
    },
    spells,
    // The rota is filled, and nobody shares a link.
    fleetSilentAbout: [{ rule: 'nobody-coming' }],
    nodes: [
      node(
        { id: 'frost-hole', name: 'Frost Hole', place: 13 },
        {
          name: 'too cold',
          // Upright under an eave: no snow lies on it, so that whoever speaks of snow there is wrong.
          fate: {},
          fires: ['charge-blocked'],
          silentAbout: ['battery-temperature', 'charging-fault', 'snow-probable'],
          expected: {
            question: 'power',
            cause: 'too-cold',
            onsetMs: day(0.2),
            lookAtMs: morning(4),
          },
        },
      ),
      node(
        {
          id: 'drift-top',
          name: 'Drift Top',
          place: 16,
          battery: lead,
          power: { shutDownRatio: 0.4, restartRatio: 0.7 },
        },
        {
          name: 'snow',
          fires: ['snow-probable'],
          silentAbout: ['charging-fault', 'yield-loss', 'charge-blocked'],
          expected: { question: 'power', cause: 'snow', onsetMs: day(5.2), lookAtMs: morning(8) },
        },
      ),
      node(
        { id: 'no-guard', name: 'No Guard', place: 14 },
        { mishap: () => ({ ...sound, protectionFailed: true }), fires: ['battery-temperature'] },
      ),
      neverBack(),
      lean('thin-ling', 'Thin Ling', 2),
      lean('scant-shaw', 'Scant Shaw', 3),
      lean('bare-stang', 'Bare Stang', 4),
      ...[6, 8, 11, 12].map((place) =>
        node({
          id: `peer-${place}`,
          name: `Peer ${place}`,
          place,
          battery: place === 12 ? lead : {},
        }),
      ),
    ],
  };
}
