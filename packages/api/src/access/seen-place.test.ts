import type { FleetJson, SiteListJson, SitePageJson } from '@duskline/contract';
import { beforeEach, describe, expect, it } from 'vitest';
import { openApi, type OpenApi } from '../../testing/open-api.ts';
import { blurred } from './seen-place.ts';

describe('where a site is', () => {
  it('is rounded to a hundredth of a degree and fifty metres', () => {
    expect(blurred({ latitudeDeg: 54.71849, longitudeDeg: -2.31512, elevationM: 412 })).toEqual({
      latitudeDeg: 54.72,
      longitudeDeg: -2.32,
      elevationM: 400,
    });
  });

  describe('over HTTP', () => {
    let api: OpenApi;
    beforeEach(async () => {
      api = await openApi();
    });
    const asked = async (as: 'viewer' | 'analyst' | 'volunteer' | 'builder') => {
      const fleet = (await api.ask({ url: '/api/v1/fleet', as })).json<FleetJson>();
      const list = (await api.ask({ url: '/api/v1/sites', as })).json<SiteListJson>();
      const page = (await api.ask({ url: '/api/v1/sites/rushy-sluice', as })).json<SitePageJson>();
      const sta = await api.ask({ url: '/api/sta/v1.1/Locations', as });
      const ofRushy = <T extends { id: string }>(all: readonly T[]) =>
        all.find(({ id }) => id === 'rushy-sluice');
      const points = sta.json<{ value: { location: { coordinates: number[] } }[] }>().value;
      return {
        heights: [
          ofRushy(fleet.rows.map(({ site }) => site))?.elevationM,
          ofRushy(list.sites)?.elevationM,
          page.row.site.elevationM,
          points[0]?.location.coordinates[2],
        ],
        access: page.access,
      };
    };

    it.each(['viewer', 'analyst'] as const)(
      'is blurred for a %s, and the way in is left out',
      async (as) => {
        expect(await asked(as)).toEqual({ heights: [400, 400, 400, 400], access: '' });
      },
    );

    it.each(['volunteer', 'builder'] as const)('is exact for a %s, who goes there', async (as) => {
      expect(await asked(as)).toEqual({
        heights: [412, 412, 412, 412],
        access: 'Track from the north gate.',
      });
    });
  });
});
