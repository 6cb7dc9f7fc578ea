import type { SitePageJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { fixtureNow, rowFixture } from '../fleet/fixtures.ts';
import { isProved, proofsOf, type ProofKind } from './proofs.ts';

const nowMs = Date.parse(fixtureNow);
const reading = (metric: string, value: number, observedAt = fixtureNow) => ({
  metric,
  label: metric,
  unit: '',
  value,
  observedAt,
});
const page = (over: Partial<SitePageJson> = {}): SitePageJson => ({
  row: rowFixture(),
  access: '',
  hazards: '',
  power: {
    panelW: 20,
    panelTiltDeg: 60,
    panelAzimuthDeg: 180,
    batteryChemistry: 'lifepo4',
    batteryWh: 150,
    seriesCells: 4,
    charger: 'mppt',
    shutDownRatio: 0.15,
    restartRatio: 0.35,
    offStateDrawW: 0.05,
    usualGapS: 30,
  },
  days: [],
  intervals: [],
  latest: [reading('batt_v', 13.1), reading('panel_w', 4), reading('signal', -87)],
  metrics: [],
  ...over,
});
const verdict = (kind: ProofKind, over: Partial<SitePageJson>) =>
  proofsOf(page(over), nowMs).find((proof) => proof.kind === kind)?.verdict;

describe('what a new node has to show', () => {
  it('is all shown by a node that sends everything rightly', () => {
    const proofs = proofsOf(page(), nowMs);
    expect(proofs.map((proof) => proof.verdict)).toEqual(Array(6).fill('proved'));
    expect(isProved(proofs)).toBe(true);
  });

  it('waits for everything but the off-state draw before the first message', () => {
    const silent = page({ row: rowFixture({ lastHeardAt: null }), latest: [] });
    const proofs = proofsOf(silent, nowMs);
    expect(proofs.map((proof) => proof.verdict)).toEqual([
      ...Array<string>(5).fill('waiting'),
      'proved',
    ]);
    expect(isProved(proofs)).toBe(false);
  });

  it('waits for daylight: a panel at night proves nothing', () => {
    const latest = [reading('batt_v', 13.1), reading('panel_w', 0)];
    expect(verdict('harvest', { latest })).toBe('waiting');
    const day = { dayStart: fixtureNow, harvestWh: 12, loadWh: 3, hoursHeard: 5 };
    expect(verdict('harvest', { latest, days: [day] })).toBe('proved');
  });

  it('finds a clock an hour off, by the dates or by its own word', () => {
    const early = [reading('batt_v', 13.1, '2026-11-25T06:02:00Z')];
    expect(verdict('clock', { latest: early })).toBe('wrong');
    const said = [reading('batt_v', 13.1), reading('clock_offset', -3600)];
    expect(verdict('clock', { latest: said })).toBe('wrong');
  });

  it('does not hold up a node that cannot tell its signal, but a weak one', () => {
    const untold = proofsOf(
      page({ latest: [reading('batt_v', 13), reading('panel_w', 3)] }),
      nowMs,
    );
    expect(untold.map((proof) => proof.verdict)).toContain('untold');
    expect(isProved(untold)).toBe(true);
    expect(verdict('signal', { latest: [reading('signal', -121)] })).toBe('wrong');
  });

  it('names a sensor beyond what can be, and a node without its battery', () => {
    // The catalogue's span of a 12 V system's board: −40 to 110 °C.
    const hot = [reading('batt_v', 13), reading('cpu_temp', 850)];
    expect(verdict('sensors', { latest: hot })).toBe('wrong');
    expect(verdict('sensors', { latest: [reading('cpu_temp', 20)] })).toBe('wrong');
  });

  it('asks for an off-state draw that nobody entered', () => {
    const { power } = page();
    expect(power).not.toBeNull();
    if (power !== null)
      expect(verdict('offStateDraw', { power: { ...power, offStateDrawW: 0 } })).toBe('wrong');
  });
});
