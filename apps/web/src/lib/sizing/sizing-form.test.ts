import type { SitePageJson } from '@duskline/contract';
import { expect, it } from 'vitest';
import { outlookFixture, rowFixture } from '../fleet/fixtures.ts';
import { siteQuestion } from './check-site.ts';
import { emptySizing, runtimeRequestOf, sizingRequestOf, withSite } from './sizing-form.ts';

const page = (loadWhPerDay: number | null): SitePageJson => ({
  row: rowFixture({
    outlook: outlookFixture({
      drivers:
        loadWhPerDay === null
          ? null
          : {
              harvestWhPerDay: 20,
              loadWhPerDay,
              reserveWh: 90,
              noSunReserveDays: 4,
              harvestRatio: 0.3,
              historyDays: 60,
            },
    }),
  }),
  access: '',
  hazards: '',
  power: {
    panelW: 20,
    panelTiltDeg: 65,
    panelAzimuthDeg: 170,
    batteryChemistry: 'lifepo4',
    batteryWh: 154,
    seriesCells: 4,
    charger: 'mppt',
    shutDownRatio: 0.15,
    restartRatio: 0.5,
    offStateDrawW: 0.03,
    usualGapS: 30,
  },
  days: [],
  intervals: [],
  latest: [],
  metrics: [],
});

it('asks with ratios though people write percent', () => {
  const asked = sizingRequestOf({ ...emptySizing(), wishedPercent: 98, shutDownPercent: 15 });
  expect([asked.reliabilityRatio, asked.shutDownRatio]).toEqual([0.98, 0.15]);
  expect(runtimeRequestOf({ ...emptySizing(), fromPercent: 60 }).fromRatio).toBe(0.6);
});

it('takes a site’s own parts and the draw its outlook expects: 19.2 Wh a day are 0.8 W', () => {
  const form = withSite(emptySizing(), page(19.2));
  expect(form).toMatchObject({ loadW: 0.8, panelW: 20, panelTiltDeg: 65, shutDownPercent: 15 });
  expect(form.latitudeDeg).toBe(54.6);
});

it('says why a site cannot be checked instead of guessing', () => {
  const wish = { wishedPercent: 98, criticality: 'ordinary' } as const;
  expect(siteQuestion({ ...page(19.2), power: null }, wish)).toEqual({ kind: 'no-node' });
  expect(siteQuestion(page(null), wish)).toEqual({ kind: 'no-load' });
  expect(siteQuestion(page(19.2), wish)).toMatchObject({ loadW: 0.8, reliabilityRatio: 0.98 });
});
