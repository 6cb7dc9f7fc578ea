import { DAY_MS, HOUR_MS, type HourlyHistory, type Outlook } from '@duskline/domain';
import { referenceHourlyWh, voltageFromCharge } from '@duskline/energy';
import { describe, expect, it } from 'vitest';
import { estimateCharge } from './estimate-charge.ts';
import { estimatePastCharges, withPastCharges } from './estimate-past-charges.ts';
import type { ForecastInputs } from './forecast-inputs.ts';
import { forecastNode } from './forecast-node.ts';
import { advanceLearnt } from './learn/advance-learnt.ts';
import { exactly, madeUpHistory, moor, moorPower } from './testing.ts';
import { live } from './testing-life.ts';

type Figures = Exclude<Outlook, { kind: 'insufficient-data' }>;

function outlookOf(history: HourlyHistory, changes: Partial<ForecastInputs> = {}): Figures {
  const nowMs = history.startMs + history.panelW.length * HOUR_MS;
  const outlook = forecastNode({
    nowMs,
    seed: 7,
    position: moor,
    power: moorPower,
    history,
    charge: exactly(0.5, nowMs),
    ...changes,
  });
  if (outlook.kind === 'insufficient-data') throw new Error(`Too little data: ${outlook.missing}.`);
  return outlook;
}
const says = (outlook: Figures, about: string): string =>
  outlook
    .reasons!.filter((reason) => reason.about === about)
    .map((reason) => reason.says)
    .join(' ');
const lastDays = (history: HourlyHistory, days: number): HourlyHistory => {
  const from = history.panelW.length - days * 24;
  const cut = (values: readonly (number | null)[]) => values.slice(from);
  return {
    startMs: history.startMs + from * HOUR_MS,
    panelW: cut(history.panelW),
    loadW: cut(history.loadW),
    chargeRatio: cut(history.chargeRatio),
    batteryV: cut(history.batteryV),
    batteryA: cut(history.batteryA),
    batteryC: cut(history.batteryC),
    airC: cut(history.airC),
  };
};
const without = (history: HourlyHistory, name: 'panelW' | 'loadW'): HourlyHistory => ({
  ...history,
  [name]: history[name].map(() => null),
});

describe('a node with three days of history', () => {
  it('has an outlook that rests on the climate of its place, is less sure, and says so', () => {
    const whole = live({ loadW: () => 1.1, endMs: Date.UTC(2026, 9, 20) });
    const short = outlookOf(lastDays(whole, 3), { horizonDays: 60 });
    expect(short.drivers.historyDays).toBe(3);
    // n / (n + 60) for n = 3: a twentieth (project research note §9, n0 = 60).
    expect(short.weather!.climateShare).toBeGreaterThan(0.9);
    expect(says(short, 'weather')).toContain('climate of the place');
    // It cannot empty before its reserve is gone without any sun: 40 Wh at 26.4 Wh a day, a tenth lost: arithmetic of the trade.
    if (short.kind === 'empties-in') expect(short.p10Days).toBeGreaterThan(1.1);
    expect(short.drivers.noSunReserveDays).toBeGreaterThan(1.2);
    expect(short.drivers.noSunReserveDays).toBeLessThan(1.52);
  });
});

describe('a node whose battery is full every day', () => {
  it('is not called poor, is beyond the horizon, and says what is lost', () => {
    const endMs = Date.UTC(2026, 6, 20);
    const history = live({ loadW: () => 0.15, endMs });
    expect(Math.max(...(history.chargeRatio.slice(-24) as number[]))).toBeGreaterThan(0.97);
    const outlook = outlookOf(history, { charge: exactly(0.95, endMs) });
    expect(outlook.kind).toBe('beyond-horizon');
    // The hidden weather has a mean of 0.6 of the cloudless sky; what the panel was let give is a fraction of it.
    expect(outlook.drivers.harvestRatio).toBeGreaterThan(0.4);
    // 3.6 Wh a day are drawn of about 40 offered: nearly all is lost (balance of energy).
    expect(outlook.drivers.spilledWhPerDay!).toBeGreaterThan(0.8 * outlook.drivers.harvestWhPerDay);
    expect(says(outlook, 'harvest')).toContain('be lost');
  });
});

describe('a node at 66° N in December', () => {
  it('lasts its no-sun reserve: the sun hardly rises', () => {
    const endMs = Date.UTC(2026, 11, 5);
    const position = { latitudeDeg: 66, longitudeDeg: 20, elevationM: 50 };
    const history = live({ position, endMs, loadW: () => 0.25, startRatio: 1 });
    const outlook = outlookOf(history, { position, charge: exactly(0.8, endMs) });
    if (outlook.kind !== 'empties-in') throw new Error(outlook.kind);
    // The sun stands below 1° at noon on these days (declination −22.4°: 90 − 66 − 22.4), so a day gives next to nothing.
    expect(outlook.drivers.harvestWhPerDay).toBeLessThan(0.15 * outlook.drivers.loadWhPerDay);
    // 70 Wh at 6 Wh a day are 11.7 days, less a tenth lost on the way and to the cold: arithmetic of the trade.
    expect(outlook.p50Days!).toBeGreaterThan(9.5);
    expect(outlook.p50Days!).toBeLessThan(12.5);
  });
});

describe('a node at the equator', () => {
  it('has no season: December gives what June gives', () => {
    const position = { latitudeDeg: 0, longitudeDeg: 30, elevationM: 1000 };
    const power = { ...moorPower, panel: { ratedW: 10, tiltDeg: 5, azimuthDeg: 180 } };
    const harvests = [Date.UTC(2026, 5, 21), Date.UTC(2026, 11, 21)].map((endMs) => {
      const history = live({ position, power, endMs, loadW: () => 1.6 });
      return outlookOf(history, { position, power, charge: exactly(0.5, endMs) }).drivers
        .harvestWhPerDay;
    });
    // The noon sun stands 66.6° high at both solstices; the distance of the sun makes 7 %, five degrees of tilt 7 % (almanac).
    expect(harvests[1]! / harvests[0]!).toBeGreaterThan(0.85);
    expect(harvests[1]! / harvests[0]!).toBeLessThan(1.35);
  });
});

describe('a panel that faces the wrong way', () => {
  const facing = { tiltDeg: 50, azimuthDeg: 90 };
  const endMs = Date.UTC(2026, 9, 20);
  const history = live({ facing, endMs, loadW: () => 1 });

  it('is found out, named, and reckoned with', () => {
    const learnt = advanceLearnt(undefined, {
      history,
      position: moor,
      power: moorPower,
      nowMs: endMs,
    });
    const outlook = outlookOf(history, { learnt });
    expect(says(outlook, 'panel')).toMatch(/seems to face (8|9|10)\d°/);
    expect(says(outlook, 'panel')).toContain('not 180° at 60° as entered');
    const trueWh = referenceHourlyWh({
      position: moor,
      panel: { ...moorPower.panel, ...facing },
      startMs: endMs,
      hours: 7 * 24,
    }).reduce((sum, value) => sum + value, 0);
    // The hidden weather gives 0.63 of a cloudless sky on average, whichever way the panel faces.
    expect(outlook.drivers.harvestWhPerDay / ((trueWh / 7) * 0.63)).toBeGreaterThan(0.7);
    expect(outlook.drivers.harvestWhPerDay / ((trueWh / 7) * 0.63)).toBeLessThan(1.3);
  });
});

describe('a node without a current sensor', () => {
  it('is read by its voltage alone: load by night, harvest by the rise of charge, with a wide charge', () => {
    const endMs = Date.UTC(2026, 9, 20);
    const truth = live({ endMs, loadW: () => 1 });
    const voltageAt = (chargeRatio: number): number =>
      voltageFromCharge({ chemistry: 'li-ion-nmc', seriesCells: 3, chargeRatio });
    const bare = madeUpHistory(truth.startMs, truth.panelW.length, {
      batteryV: (i) => {
        const ratio = truth.chargeRatio[i] ?? null;
        return ratio === null ? null : voltageAt(ratio);
      },
    });
    const pastCharges = estimatePastCharges(bare, moorPower);
    const history = withPastCharges(bare, pastCharges);
    const charge = estimateCharge({
      latest: [{ metric: 'batt_v', observedAtMs: endMs - HOUR_MS, value: voltageAt(0.6) }],
      power: moorPower,
      nowMs: endMs,
    })!;
    const outlook = outlookOf(history, { charge });
    // The hidden load is 24 Wh a day; what the cells lose on the way out is part of what is seen.
    expect(outlook.drivers.loadWhPerDay).toBeGreaterThan(24 * 0.85);
    expect(outlook.drivers.loadWhPerDay).toBeLessThan(24 * 1.15);
    expect(outlook.model).toContain('harvest: charge');
    expect(says(outlook, 'load')).toContain('nothing reads the load');
    expect(says(outlook, 'harvest')).toContain('rise of charge');
    expect(says(outlook, 'reserve')).toContain('read from the voltage');
  });
});

describe('a node without a load sensor', () => {
  it('has its load from the nights: 1 W within a tenth, and says so', () => {
    const history = without(live({ loadW: () => 1 }), 'loadW');
    const outlook = outlookOf(history);
    expect(outlook.drivers.loadWhPerDay).toBeGreaterThan(24 * 0.9);
    expect(outlook.drivers.loadWhPerDay).toBeLessThan(24 * 1.1);
    expect(says(outlook, 'load')).toContain('nights');
  });

  it('keeps the load it once measured, when the sensor fails and the nights tell nothing', () => {
    const whole = live({ loadW: () => 1 });
    const nowMs = whole.startMs + whole.panelW.length * HOUR_MS;
    const site = { position: moor, power: moorPower };
    const learnt = advanceLearnt(undefined, { history: whole, ...site, nowMs });
    const later = madeUpHistory(nowMs, 5 * 24, { panelW: (i) => (i % 24 === 12 ? 3 : 0) });
    const outlook = outlookOf(later, { learnt, charge: exactly(0.5, nowMs + 5 * DAY_MS) });
    expect(outlook.drivers.loadWhPerDay).toBeCloseTo(24, 0);
  });
});
