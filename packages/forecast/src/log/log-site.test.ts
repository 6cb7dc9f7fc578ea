import { describe, expect, it } from 'vitest';
import { parseLogSite, withCellsOf } from './log-site.ts';

const given = {
  lat: 54.5,
  lon: -2.1,
  elevationM: 310,
  panel: { powerW: 20, tiltDeg: 60, azimuthDeg: 180 },
  battery: { chemistry: 'lifepo4', capacityWh: 150 },
  shutDownLevel: 0.1,
  restartLevel: 0.4,
};
const site = (changes: object = {}) => {
  const result = parseLogSite(JSON.stringify({ ...given, ...changes }));
  if (!result.ok) throw new Error(`${result.fault.where}: ${result.fault.problem}`);
  return result.value;
};

describe('the site of a plain log', () => {
  it('is where the node stands and what it is made of; what is left out is assumed', () => {
    const { position, power, clearnessByMonth } = site();
    expect(position).toEqual({ latitudeDeg: 54.5, longitudeDeg: -2.1, elevationM: 310 });
    expect(power).toMatchObject({
      panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
      battery: { chemistry: 'lifepo4', ratedWh: 150 },
      charger: 'direct',
      shutDownRatio: 0.1,
      restartRatio: 0.4,
      offStateDrawW: 0.05,
    });
    expect(clearnessByMonth).toBeUndefined();
  });

  it('has its cells told by the usual voltage: 13.2 V are four of 3.2 V, unless the file tells them', () => {
    expect(withCellsOf(site(), 13.2).battery.seriesCells).toBe(4);
    expect(withCellsOf(site(), undefined).battery.seriesCells).toBe(1);
    const told = site({ battery: { ...given.battery, cells: 8 } });
    expect(withCellsOf(told, 13.2).battery.seriesCells).toBe(8);
  });

  it.each([
    [{ lat: 154 }, 'lat', 'must be a number from -90 to 90'],
    [{ panel: undefined }, 'panel', 'must be an object in braces'],
    [
      { panel: { ...given.panel, powerW: '20 W' } },
      'panel.powerW',
      'must be a number from 0.001 to 1000000',
    ],
    [{ restartLevel: 0.1 }, 'restartLevel', 'must be above shutDownLevel'],
    [{ charger: 'solar' }, 'charger', 'must be mppt or direct'],
    [{ clearnessByMonth: [0.5] }, 'clearnessByMonth', 'must be twelve numbers between 0 and 1'],
  ])('names the field that is wrong: %j', (changes, where, problem) => {
    const result = parseLogSite(JSON.stringify({ ...given, ...changes }));
    expect(result).toEqual({ ok: false, fault: { where, problem } });
  });

  it('lists the chemistries, and says when it is no JSON', () => {
    const lead = parseLogSite(JSON.stringify({ ...given, battery: { chemistry: 'lead' } }));
    expect(lead.ok ? '' : lead.fault.problem).toMatch(/^must be one of .*lifepo4/);
    const cut = parseLogSite('{ "lat": 5');
    expect(cut.ok ? '' : cut.fault.problem).toMatch(/^it is no JSON/);
  });
});
