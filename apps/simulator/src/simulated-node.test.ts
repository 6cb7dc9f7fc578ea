import { DAY_MS, HOUR_MS, MINUTE_MS, type MetricKey } from '@duskline/domain';
import { sunPosition } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { fleet, type SimulatedSite } from './fleet.ts';
import {
  createSimulatedNode,
  firstState,
  type NodeEvent,
  type NodeLife,
  type SimulatedNode,
} from './simulated-node.ts';
import { beamKept, surroundingsOf } from './surroundings.ts';
import { tuneDrill } from './tune-drill.ts';
import { createWeather } from './weather.ts';

const SEED = 20_261;
const QUARTER_MS = 15 * MINUTE_MS;
const siteOf = (id: string): SimulatedSite => {
  const site = fleet.find((one) => one.id === id);
  if (site === undefined) throw new Error(`There is no site ${id}.`);
  return site;
};

function withoutDrill({ drill, ...site }: SimulatedSite): SimulatedSite {
  expect(drill).toBeDefined();
  return site;
}

/** A node with sixty days before it that end at `drillMs`, as the demo has it. */
function put(site: SimulatedSite, drillMs: number, over: Partial<NodeLife> = {}) {
  const startMs = Math.floor((drillMs - 60 * DAY_MS) / QUARTER_MS) * QUARTER_MS;
  const weather = createWeather(SEED, startMs);
  const index = fleet.findIndex(({ id }) => id === site.id);
  const life = {
    seed: SEED,
    drillMs,
    surroundings: surroundingsOf(site, index, weather, drillMs),
    ...over,
  };
  const tuning = tuneDrill(site, { ...life, startMs });
  const from = firstState(site, startMs);
  return { startMs, node: createSimulatedNode(site, { tuning, from, ...life }) };
}
function live(node: SimulatedNode, toMs: number, stepMs = QUARTER_MS): NodeEvent[] {
  const events: NodeEvent[] = [];
  while (node.state().atMs < toMs)
    events.push(...node.stepTo(Math.min(toMs, node.state().atMs + stepMs)));
  return events;
}
const series = (events: readonly NodeEvent[], metric: MetricKey) =>
  events.flatMap((event) => {
    const value = event.kind === 'sample' ? event.read().get(metric) : undefined;
    return value === undefined ? [] : [{ atMs: event.atMs, value }];
  });
const winter = Date.UTC(2026, 10, 25, 15);

describe('a pretend node', () => {
  it.each(fleet.map((site) => [site.id, site] as const))(
    'closes its energy balance: %s',
    (_id, site) => {
      const { node } = put(site, winter);
      const beforeWh = node.state().battery.storedWh;
      live(node, winter);
      const { storedWh, book } = node.state().battery;
      const gapWh = book.harvestWh - book.servedWh - book.lostWh - (storedWh - beforeWh);
      expect(Math.abs(gapWh)).toBeLessThan(0.01 * book.harvestWh);
      expect(book.harvestWh).toBeGreaterThan(100);
      // Charger, round trip and cold together; good systems lose a tenth, lead a quarter (common practice, no source).
      expect(book.lostWh / book.harvestWh).toBeGreaterThan(0.05);
      expect(book.lostWh / book.harvestWh).toBeLessThan(0.3);
    },
  );

  it('reports what truly flows: its readings add up to its own energy book', () => {
    const { node, startMs } = put(siteOf('fell-foot'), winter);
    const events = live(node, winter);
    const sumWh = (metric: MetricKey) =>
      series(events, metric).reduce((sum, { value }) => sum + value * 0.25, 0);
    const { book } = node.state().battery;
    expect(series(events, 'load_w')).toHaveLength(Math.ceil((winter - startMs) / QUARTER_MS));
    expect(sumWh('load_w') / book.servedWh).toBeCloseTo(1, 2);
    expect(sumWh('panel_w') / book.harvestWh).toBeCloseTo(1, 2);
  });

  it('lives the same life again from the same seed, and goes on the same way from any moment of it', () => {
    const readAll = (events: readonly NodeEvent[]) =>
      events.map((event) => (event.kind === 'sample' ? [event.atMs, ...event.read()] : event));
    const first = put(siteOf('tarn-gill'), winter).node;
    live(first, winter - 5 * DAY_MS);
    const remembered = JSON.parse(JSON.stringify(first.state())) as ReturnType<typeof first.state>;
    const goneOn = readAll(live(first, winter));
    const resumed = put(siteOf('tarn-gill'), winter, { from: remembered }).node;
    expect(readAll(live(resumed, winter))).toEqual(goneOn);
    const other = put(siteOf('tarn-gill'), winter, { from: remembered, seed: 4 }).node;
    expect(readAll(live(other, winter))).not.toEqual(goneOn);
  });

  it('hardly cares how long its steps are', () => {
    const endOf = (stepMs: number) => {
      const { node, startMs } = put(siteOf('blea-edge'), winter);
      live(node, startMs + 4 * DAY_MS, stepMs);
      return node.chargeRatio();
    };
    expect(Math.abs(endOf(30_000) - endOf(QUARTER_MS))).toBeLessThan(0.03);
  });

  it('stops at its shut-down level, says so, and is back at its restart level with a clock of its own', () => {
    const { node } = put(siteOf('withy-weir'), Date.UTC(2026, 2, 20));
    const events = live(node, Date.UTC(2026, 2, 20));
    const words = events.filter(({ kind }) => kind !== 'sample');
    expect(words.length).toBeGreaterThan(1);
    for (const [i, word] of words.entries())
      expect(word.kind).toBe(i % 2 === 0 ? 'farewell' : 'hello');
    const [farewell, hello] = words;
    expect(farewell?.kind === 'farewell' && farewell.chargeRatio).toBeCloseTo(0.1, 2);
    const between = events.filter(
      ({ atMs }) => atMs > (farewell?.atMs ?? 0) && atMs < (hello?.atMs ?? 0),
    );
    expect(between).toEqual([]);
    const after = series(events, 'charge').find(({ atMs }) => atMs === hello?.atMs);
    expect(after?.value).toBeGreaterThan(48);
    expect(series(events, 'uptime').find(({ atMs }) => atMs === hello?.atMs)?.value).toBe(0);
  });

  it('sends only what a plausible instrument says', () => {
    const events = fleet.flatMap((site) => live(put(site, winter).node, winter - 50 * DAY_MS));
    const signals = series(events, 'signal').map(({ value }) => value);
    expect(Math.max(...signals)).toBeLessThan(-70);
    expect(Math.min(...signals)).toBeGreaterThan(-115);
    for (const { value } of series(events, 'batt_v')) {
      expect(value).toBeGreaterThan(8);
      expect(value).toBeLessThan(15);
    }
    for (const { value } of series(events, 'charge')) {
      expect(value).toBeGreaterThanOrEqual(0);
      expect(value).toBeLessThanOrEqual(100);
    }
    expect(new Set(series(events, 'charge_stage').map(({ value }) => value)).size).toBeGreaterThan(
      2,
    );
  });
});

describe('the drills', () => {
  const months = Array.from({ length: 12 }, (_, month) => [month + 1] as const);

  it.each(months)(
    'dark as designed is dark, by a farewell of the last days, in month %i',
    (month) => {
      const drillMs = Date.UTC(2026, month - 1, 17, 10, 7);
      const { node } = put(siteOf('long-moss'), drillMs);
      const events = live(node, drillMs);
      const last = events.at(-1);
      expect(last?.kind).toBe('farewell');
      const darkDays = (drillMs - (last?.atMs ?? 0)) / DAY_MS;
      expect(darkDays).toBeGreaterThan(0.7);
      expect(darkDays).toBeLessThan(5);
      expect(node.isSilent()).toBe(true);
    },
  );

  it.each(months)(
    'a failed connector gives no power since, and the node is low but up, in month %i',
    (month) => {
      const drillMs = Date.UTC(2026, month - 1, 17, 10, 7);
      const { node } = put(siteOf('rushy-sluice'), drillMs);
      const events = live(node, drillMs);
      const power = series(events, 'panel_w');
      const lastMs = power.filter(({ value }) => value > 0.1).at(-1)?.atMs ?? 0;
      // Days with a sun, so that nothing is not simply night.
      expect(drillMs - lastMs).toBeGreaterThan(0.5 * DAY_MS);
      expect(power.filter(({ atMs, value }) => atMs > lastMs + DAY_MS && value > 0)).toEqual([]);
      expect(node.isSilent()).toBe(false);
      const charge = series(events, 'charge').at(-1)?.value ?? 0;
      expect(charge).toBeGreaterThan(11);
      expect(charge).toBeLessThan(23);
    },
  );

  it('a failed board is silent since, without a word, with a healthy charge', () => {
    const { node } = put(siteOf('brackwell-ford'), winter);
    const events = live(node, winter);
    const last = events.at(-1);
    expect(last?.kind).toBe('sample');
    expect((winter - (last?.atMs ?? 0)) / HOUR_MS).toBeCloseTo(30, 0);
    expect(series(events, 'charge').at(-1)?.value).toBeGreaterThan(60);
    expect(node.isSilent()).toBe(true);
    expect(live(node, winter + DAY_MS)).toEqual([]);
  });

  it('a weak battery swings wider between day and night than its healthy twin', () => {
    const weak = siteOf('withy-weir');
    const healthy = withoutDrill(weak);
    const swing = (site: SimulatedSite) => {
      const { node } = put(site, winter);
      const charge = series(live(node, winter), 'charge');
      const days = new Map<number, number[]>();
      for (const { atMs, value } of charge) {
        const day = Math.floor(atMs / DAY_MS);
        days.set(day, [...(days.get(day) ?? []), value]);
      }
      const spans = [...days.values()]
        .filter((values) => values.length === 96)
        .map((values) => Math.max(...values) - Math.min(...values));
      return spans.reduce((a, b) => a + b, 0) / spans.length;
    };
    expect(swing(weak)).toBeGreaterThan(1.5 * swing(healthy));
  });

  it('leaves take the beam between their bearings only, and grow', () => {
    const { drill } = siteOf('thornhow');
    const kept = (azimuthDeg: number, daysBefore: number) =>
      beamKept(drill, winter - daysBefore * DAY_MS, winter)(azimuthDeg);
    expect([139, 196, 90, 270].map((azimuthDeg) => kept(azimuthDeg, 0))).toEqual([1, 1, 1, 1]);
    expect(kept(170, 40)).toBe(1);
    expect(kept(170, 20)).toBeCloseTo(0.6, 6);
    expect(kept(170, 0)).toBeCloseTo(0.2, 6);
  });

  it('leaves show in the panel power at those bearings of the sun, and nowhere else', () => {
    const drillMs = Date.UTC(2026, 4, 20);
    const site = siteOf('thornhow');
    const bare = withoutDrill(site);
    const weather = createWeather(SEED, drillMs - 60 * DAY_MS);
    const [with_, without] = [site, bare].map((one) => surroundingsOf(one, 8, weather, drillMs));
    let [inside, outside] = [0, 0];
    for (let atMs = drillMs - DAY_MS; atMs < drillMs; atMs += QUARTER_MS) {
      const [shaded, open] = [with_?.(atMs).panelW ?? 0, without?.(atMs).panelW ?? 0];
      if (open < 0.5) continue;
      const { latitudeDeg, longitudeDeg } = site.position;
      const { azimuthDeg } = sunPosition(atMs, latitudeDeg, longitudeDeg);
      if (azimuthDeg > 140 && azimuthDeg < 195) {
        inside += 1;
        expect(shaded).toBeLessThan(open);
      } else {
        outside += 1;
        expect(shaded).toBe(open);
      }
    }
    expect(inside).toBeGreaterThan(5);
    expect(outside).toBeGreaterThan(20);
  });
});
