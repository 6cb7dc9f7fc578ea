import {
  HOUR_MS,
  parseNodeName,
  type FieldNode,
  type NodeId,
  type NodeName,
  type Site,
  type SiteId,
} from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { afterBrightHours, BRIGHT_AFTER_MS, brightHours } from './bright-hours.ts';

const site: Site = {
  id: 'long-moss' as SiteId,
  name: 'Long Moss',
  position: { latitudeDeg: 54.5, longitudeDeg: -2.3, elevationM: 300 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
const node: FieldNode = {
  id: 1 as NodeId,
  name: parseNodeName('long-moss') as NodeName,
  siteId: site.id,
  commissionedAtMs: Date.UTC(2026, 0, 1),
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.15,
    restartRatio: 0.5,
    offStateDrawW: 0.05,
    usualGapS: 30,
  },
};
const at = { site, node };

describe('when so many bright hours count', () => {
  // Monday 30 November, 12:22 at 54.5° north: the sun sets before four (almanac, from memory), so four hours are not over that day.
  const endMs = Date.UTC(2026, 10, 30, 12, 22);

  it('is the next morning where too little of the day is left', () => {
    const toldMs = afterBrightHours(at, endMs, 4) ?? 0;
    expect(toldMs).toBeGreaterThan(Date.UTC(2026, 11, 1, 8));
    expect(toldMs).toBeLessThan(Date.UTC(2026, 11, 1, 13));
  });

  it('is the instant at which the rule finds enough of them, and no sooner', () => {
    const enough = (nowMs: number) => brightHours(at, endMs, nowMs - BRIGHT_AFTER_MS) >= 4;
    const toldMs = afterBrightHours(at, endMs, 4) ?? 0;
    expect([enough(toldMs - 1), enough(toldMs)]).toEqual([false, true]);
  });

  it('is at once where none is needed, and never where the sun does not rise within a month', () => {
    expect(afterBrightHours(at, endMs, 0)).toBe(endMs);
    const north = { ...site, position: { latitudeDeg: 78, longitudeDeg: 16, elevationM: 10 } };
    expect(afterBrightHours({ site: north, node }, endMs, 4)).toBeUndefined();
    expect(HOUR_MS).toBe(2 * BRIGHT_AFTER_MS);
  });
});
