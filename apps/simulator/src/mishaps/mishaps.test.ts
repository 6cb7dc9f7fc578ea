import { DAY_MS, HOUR_MS, type MetricKey } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { fleet } from '../fleet.ts';
import { createSimulatedNode, firstState, type NodeLife } from '../simulated-node.ts';
import { surroundingsOf } from '../surroundings.ts';
import { createWeather, type SkyNow } from '../weather.ts';
import { throughDust, throughSnow } from './glass.ts';
import { sound, type PanelFate } from './mishap.ts';
import { withSpells } from './spells.ts';

const startMs = Date.UTC(2026, 5, 1);
const sky = (over: Partial<SkyNow>): SkyNow => ({
  cloud: 0.5,
  airC: 8,
  windMs: 3,
  relativeHumidityPct: 80,
  rainMmPerHour: 0,
  pressureHpa: 1010,
  ...over,
});
const hours = (count: number) => startMs + count * HOUR_MS;

describe('what lies on the glass', () => {
  it('snow covers the panel while it falls in the cold, and goes with the thaw', () => {
    const through = throughSnow((atMs) => {
      if (atMs < hours(12)) return sky({ airC: -1, rainMmPerHour: 0.5 });
      return sky({ airC: atMs < hours(48) ? -1 : 7 });
    }, startMs);
    expect(through(startMs)).toBe(1);
    expect(through(hours(14))).toBeLessThan(0.05);
    expect(through(hours(47))).toBeLessThan(0.05);
    expect(through(hours(72))).toBeGreaterThan(0.9);
  });
  it('rain above freezing leaves no snow', () => {
    const through = throughSnow(() => sky({ airC: 4, rainMmPerHour: 1 }), startMs);
    expect(through(hours(24))).toBe(1);
  });
  it('dust gathers in the dry and goes with six millimetres of rain in a day, not with two', () => {
    const rainy = (mm: number) =>
      throughDust(
        (atMs) => sky({ rainMmPerHour: atMs >= hours(240) && atMs < hours(250) ? mm / 10 : 0 }),
        startMs,
        0.01,
      );
    expect(rainy(0)(hours(239))).toBeCloseTo(0.9, 2);
    expect(rainy(2)(hours(251))).toBeLessThan(0.9);
    expect(rainy(7)(hours(251))).toBeGreaterThan(0.99);
  });
});

describe('a spell of weather', () => {
  it('is laid over the weather within its days only', () => {
    const weather = createWeather(7, startMs);
    const spelled = withSpells(weather, [
      { fromMs: hours(48), untilMs: hours(96), warmerK: -9, dryCloudShare: 0.5 },
    ]);
    expect(spelled.at(hours(40), 1, 100)).toEqual(weather.at(hours(40), 1, 100));
    const [before, during] = [weather.at(hours(72), 1, 100), spelled.at(hours(72), 1, 100)];
    expect(during.airC).toBeCloseTo(before.airC - 9, 6);
    expect(during.cloud).toBeCloseTo(before.cloud / 2, 6);
    expect(during.rainMmPerHour).toBe(0);
  });
});

describe('what goes wrong inside a node', () => {
  const site = { ...fleet[5]!, housekeeping: true };
  const { drill: _, ...whole } = site;
  function noon(over: Partial<NodeLife> = {}, fate: PanelFate = {}) {
    const weather = createWeather(3, startMs);
    const node = createSimulatedNode(whole, {
      seed: 3,
      drillMs: startMs,
      surroundings: surroundingsOf(whole, 5, weather, startMs, fate),
      from: firstState(whole, startMs),
      ...over,
    });
    const event = node.stepTo(startMs + DAY_MS / 2).findLast(({ kind }) => kind === 'sample');
    const readings: ReadonlyMap<MetricKey, number> =
      event?.kind === 'sample' ? event.read() : new Map();
    return (metric: MetricKey) => readings.get(metric) ?? NaN;
  }
  it('a parted panel shows neither voltage nor power; a dead charger shows a higher voltage and no power', () => {
    const parted = noon({ mishap: () => ({ ...sound, panelConnected: false }) });
    expect([parted('panel_v'), parted('panel_w')]).toEqual([0, 0]);
    const dead = noon({ mishap: () => ({ ...sound, chargerWorks: false }) });
    expect(dead('panel_w')).toBe(0);
    expect(dead('panel_v')).toBeGreaterThan(noon()('panel_v') + 2);
  });
  it('a fifth of the light through the glass brings a fifth of the power, while the voltage stays', () => {
    const first = firstState(whole, startMs);
    const from = {
      ...first,
      battery: { ...first.battery, storedWh: 0.4 * first.battery.storedWh },
    };
    const dusty = noon({ from }, { throughGlassAt: () => 0.2 });
    expect(dusty('panel_w')).toBeLessThan(0.3 * noon({ from })('panel_w') + 0.05);
    expect(dusty('panel_v')).toBeGreaterThan(14);
  });
  it('water stands in the box, the signal falls, the board starts anew', () => {
    const wet = noon({
      mishap: () => ({ ...sound, boxWet: 1, signalLossDb: 20, restartsAfterHours: 2 }),
    });
    expect(wet('box_rh')).toBeGreaterThan(95);
    expect(noon()('box_rh')).toBeLessThan(70);
    expect(wet('signal')).toBeLessThan(noon()('signal') - 10);
    expect(wet('uptime')).toBeLessThan(2 * 3600);
    expect(noon()('uptime')).toBeGreaterThan(11 * 3600);
  });
});
