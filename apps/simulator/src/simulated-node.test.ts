import { DAY_MS, HOUR_MS } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { fleet, type SimulatedSite } from './fleet.ts';
import { createSimulatedNode, type NodeEvent } from './simulated-node.ts';
import { tuneDrill } from './tune-drill.ts';
import { createWeather } from './weather.ts';

const SEED = 20_261;
const DAYS = 60;
/** A day in each season: the drills must show whenever the demo is started. */
const dates = [
  '2026-11-25T07:00Z',
  '2026-03-02T15:30Z',
  '2026-06-15T12:00Z',
  '2026-09-01T20:00Z',
].map(Date.parse);

function indexOf(id: string): number {
  const index = fleet.findIndex((site) => site.id === id);
  if (index < 0) throw new Error(`There is no site ${id}.`);
  return index;
}

/** A site's sixty days up to that moment, as the demo would live them. */
function live(site: SimulatedSite, index: number, drillMs: number) {
  const startMs = drillMs - DAYS * DAY_MS;
  const weather = createWeather(SEED, startMs);
  const history = { startMs, drillMs };
  const tuning = tuneDrill(site, index, weather, history);
  const node = createSimulatedNode(site, index, weather, { ...history, tuning });
  return { node, events: node.stepTo(drillMs) };
}
const samplesOf = (events: readonly NodeEvent[]) =>
  events.flatMap((event) => (event.kind === 'sample' ? [event] : []));
const withoutDrill = ({ drill: _drill, ...site }: SimulatedSite): SimulatedSite => site;

describe('the weather', () => {
  it('is the same for the same seed, another for another', () => {
    const startMs = dates[0] ?? 0;
    const clouds = (seed: number) => {
      const weather = createWeather(seed, startMs);
      return Array.from(
        { length: 200 },
        (_, hour) => weather.at(startMs + hour * HOUR_MS, 3, 200).cloud,
      );
    };
    expect(clouds(1)).toEqual(clouds(1));
    expect(clouds(1)).not.toEqual(clouds(2));
  });

  it('stays inside what an upland in the north can have, and changes with the season', () => {
    const startMs = Date.UTC(2026, 0, 1);
    const weather = createWeather(SEED, startMs);
    const meanAirC: number[] = [];
    for (let month = 0; month < 12; month++) {
      let sum = 0;
      for (let hour = 0; hour < 720; hour++) {
        const sky = weather.at(startMs + (month * 720 + hour) * HOUR_MS, 0, 200);
        expect(sky.cloud).toBeGreaterThanOrEqual(0);
        expect(sky.cloud).toBeLessThanOrEqual(1);
        // Spans of the metric catalogue, which name their source.
        expect(Math.abs(sky.airC)).toBeLessThan(50);
        expect(sky.relativeHumidityPct).toBeLessThanOrEqual(100);
        expect(sky.rainMmPerHour).toBeGreaterThanOrEqual(0);
        expect(sky.pressureHpa).toBeGreaterThan(900);
        sum += sky.airC;
      }
      meanAirC.push(sum / 720);
    }
    expect(Math.max(...meanAirC) - Math.min(...meanAirC)).toBeGreaterThan(6);
  });
});

describe('the energy of a node', () => {
  it('is neither made nor lost: what comes in, less what goes out and what the battery takes, is what is stored', () => {
    const index = indexOf('sallow-bridge');
    const site = withoutDrill(fleet[index] as SimulatedSite);
    const { events, node } = live(site, index, dates[0] ?? 0);
    const samples = samplesOf(events);
    let inWh = 0;
    let outWh = 0;
    let batteryInWh = 0;
    for (const { values } of samples) {
      const taken = (values.get('panel_w') ?? 0) * 0.95;
      const load = values.get('load_w') ?? 0;
      inWh += taken / 4;
      outWh += load / 4;
      batteryInWh += Math.max(0, taken - load) / 4;
    }
    const capacityWh = site.power.battery.ratedWh * 0.96;
    // It began with 85 % of its capacity; the battery keeps 97 % of what is put in and leaks a tenth of a per cent a day.
    const expectedWh =
      0.85 * capacityWh + inWh - outWh - 0.03 * batteryInWh - DAYS * 0.001 * 0.8 * capacityWh;
    const last = samples.at(-1);
    const batteryC = last?.values.get('batt_temp') ?? 0;
    const fullWh = capacityWh * Math.min(1, Math.max(0.6, 0.8 + batteryC * 0.008));
    const storedWh = node.chargeRatio() * fullWh;
    // Cold days cut the top off a full battery (the model's own loss), so only a loss is allowed beyond the 2 %.
    const throughputWh = inWh + outWh;
    expect(storedWh).toBeLessThan(expectedWh + 0.02 * throughputWh);
    expect(storedWh).toBeGreaterThan(expectedWh - 0.05 * throughputWh);
  });

  it('comes only from the sun: no panel power between dusk and dawn', () => {
    const index = indexOf('fell-foot');
    const { events } = live(fleet[index] as SimulatedSite, index, dates[0] ?? 0);
    const midnights = samplesOf(events).filter(({ atMs }) => {
      const hour = (atMs / HOUR_MS) % 24;
      return hour >= 22 || hour <= 3;
    });
    expect(midnights.length).toBeGreaterThan(1000);
    expect(midnights.every(({ values }) => values.get('panel_w') === 0)).toBe(true);
  });
});

describe.each(dates)('the drills, started at %i', (drillMs) => {
  it('leave one node dark with a farewell of the last days', () => {
    const index = indexOf('long-moss');
    const { node, events } = live(fleet[index] as SimulatedSite, index, drillMs);
    expect(node.isUp()).toBe(false);
    const farewell = events.filter((event) => event.kind === 'farewell').at(-1);
    const agoDays = (drillMs - (farewell?.atMs ?? 0)) / DAY_MS;
    expect(agoDays).toBeGreaterThan(0.7);
    expect(agoDays).toBeLessThan(5);
    expect(samplesOf(events).at(-1)?.atMs ?? 0).toBeLessThan(farewell?.atMs ?? 0);
  });

  it('leave one node low, whose panel gives nothing in daylight', () => {
    const index = indexOf('rushy-sluice');
    const { node, events } = live(fleet[index] as SimulatedSite, index, drillMs);
    expect(node.isUp()).toBe(true);
    expect(node.chargeRatio()).toBeGreaterThan(0.1);
    expect(node.chargeRatio()).toBeLessThan(0.22);
    const lastHours = samplesOf(events).filter(({ atMs }) => atMs > drillMs - 12 * HOUR_MS);
    expect(lastHours.every(({ values }) => values.get('panel_w') === 0)).toBe(true);
  });

  it('leave one node silent for thirty hours with a healthy charge and no farewell', () => {
    const index = indexOf('brackwell-ford');
    const { events } = live(fleet[index] as SimulatedSite, index, drillMs);
    const last = events.at(-1);
    expect(last?.kind).toBe('sample');
    expect((drillMs - (last?.atMs ?? 0)) / HOUR_MS).toBeCloseTo(30, 0);
    const charge = last?.kind === 'sample' ? (last.values.get('charge') ?? 0) : 0;
    expect(charge).toBeGreaterThan(40);
  });
});

describe('a weak battery and a growth of leaves', () => {
  const swing = (site: SimulatedSite, index: number) => {
    const charges = samplesOf(live(site, index, dates[0] ?? 0).events).map(
      ({ values }) => values.get('charge') ?? 0,
    );
    return Math.max(...charges) - Math.min(...charges);
  };

  it('show as wider swings than those of the same site with a sound battery', () => {
    const index = indexOf('withy-weir');
    const site = fleet[index] as SimulatedSite;
    expect(swing(site, index)).toBeGreaterThan(swing(withoutDrill(site), index) + 10);
  });

  it('show as lost harvest that grows over a month', () => {
    const index = indexOf('thornhow');
    const own = fleet[index] as SimulatedSite;
    // Under a load no battery can follow, and never stopping, the panel is never throttled by a full battery.
    const site = { ...own, loadW: 8, power: { ...own.power, shutDownRatio: -1 } };
    const nowMs = dates[2] ?? 0;
    const [shaded, open] = [site, withoutDrill(site)].map((one) =>
      samplesOf(live(one, index, nowMs).events),
    );
    const harvest = (samples: typeof shaded, fromDay: number, toDay: number) =>
      (samples ?? [])
        .filter(({ atMs }) => atMs >= nowMs - fromDay * DAY_MS && atMs < nowMs - toDay * DAY_MS)
        .reduce((sum, { values }) => sum + (values.get('panel_w') ?? 0), 0);
    const kept = (fromDay: number, toDay: number) =>
      harvest(shaded, fromDay, toDay) / harvest(open, fromDay, toDay);
    expect(kept(60, 40)).toBeGreaterThan(0.98);
    expect(kept(25, 15)).toBeLessThan(kept(60, 40));
    expect(kept(5, 0)).toBeLessThan(0.9);
    expect(kept(5, 0)).toBeLessThan(kept(25, 15));
  });
});
