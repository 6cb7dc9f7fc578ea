import type { ExportSite } from '@duskline/export';
import { describe, expect, it } from 'vitest';
import { citationOf, fileStem } from './export-names.ts';

const sites = (...ids: readonly string[]): readonly ExportSite[] =>
  ids.map((id) => ({ site: { id } }) as ExportSite);
const job = (asked?: readonly string[], more: object = {}) => ({
  id: 7,
  version: 2,
  madeAtMs: Date.UTC(2026, 10, 27),
  query: {
    from: '2026-11-01T00:00:00Z',
    to: '2026-11-08T00:00:00Z',
    ...(asked === undefined ? {} : { sites: asked }),
    ...more,
  },
});

describe('the name of an export', () => {
  it('is the fleet only where the whole of it was asked for', () => {
    const all = ['bench', 'long-moss', 'peat-hag', 'tarn-gill'];
    expect(fileStem(job(), sites(...all))).toBe(
      'duskline_fleet_2026-11-01_2026-11-08_raw_export-7_v2',
    );
    expect(fileStem(job(all), sites(...all))).toBe(
      'duskline_4-sites_2026-11-01_2026-11-08_raw_export-7_v2',
    );
  });

  it('says the sites where they are few', () => {
    const two = ['long-moss', 'tarn-gill'];
    expect(fileStem(job(two), sites(...two))).toBe(
      'duskline_long-moss+tarn-gill_2026-11-01_2026-11-08_raw_export-7_v2',
    );
    expect(fileStem(job(['long-moss']), sites('long-moss'))).toMatch(/^duskline_long-moss_/);
    expect(citationOf(job(two))).toMatch(/^Duskline long-moss, tarn-gill, readings from /);
    expect(citationOf(job())).toMatch(/^Duskline fleet, readings from /);
  });

  it('says what a row stands for, and the metrics where they are not all', () => {
    const named = (more: object): string => fileStem(job(undefined, more), sites('a', 'b'));
    expect(named({ aggregate: '1d' })).toMatch(/_2026-11-08_day_export-7_v2$/);
    expect(named({ aggregate: '1d', day: 'utc' })).toMatch(/_2026-11-08_utc-day_export-7_v2$/);
    expect(named({ aggregate: '1h' })).toMatch(/_2026-11-08_hour_export-7_v2$/);
    expect(named({ aggregate: '10min', metrics: ['rain', 'air_temp'] })).toMatch(
      /_10min_air_temp\+rain_export-7_v2$/,
    );
    expect(named({ metrics: ['rain', 'air_temp', 'lux', 'charge'] })).toMatch(
      /_raw_4-metrics_export-7_v2$/,
    );
    expect(citationOf(job(undefined, { aggregate: '1d', metrics: ['rain'] }))).toMatch(
      /^Duskline fleet, values by day of rain from 2026-11-01 to 2026-11-08, export 7, version 2/,
    );
  });
});
