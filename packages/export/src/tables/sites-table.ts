import type { ExportSite } from '../export-source.ts';
import type { PositionChoice } from '../export-request.ts';
import { instantText } from '../utc-text.ts';
import { placeOf } from './place.ts';
import { field, type Table } from './table.ts';

export function sitesTable(sites: readonly ExportSite[], positions: PositionChoice): Table {
  return {
    name: 'sites',
    title: 'Sites',
    description: 'Places, each with its node and what it was built of.',
    fields: [
      field('site_id', 'string', 'Short name of the site', {
        text: true,
        constraints: { required: true, unique: true },
      }),
      field('name', 'string', 'Name', { text: true }),
      field('node_id', 'string', 'Name of its node on the wire', { text: true }),
      field('latitude', 'number', 'North positive', { unit: '°' }),
      field('longitude', 'number', 'East positive', { unit: '°' }),
      field('elevation', 'number', 'Above sea level', { unit: 'm' }),
      field('datum', 'string', 'Of the position'),
      field('position_blur', 'number', 'The true place is at most so far away; 0: it is exact', {
        unit: 'm',
      }),
      field('time_zone', 'string', 'IANA name of the site’s own time'),
      field('position_from', 'datetime', 'The node is here since'),
      field('position_until', 'datetime', 'Empty: it is still here'),
      field('sensor_height', 'number', 'Empty: not recorded', { unit: 'm' }),
      field('panel_tilt', 'number', '0 flat, 90 upright', { unit: '°' }),
      field('panel_azimuth', 'number', 'From north, clockwise', { unit: '°' }),
      field('panel_rated', 'number', 'Power by the plate', { unit: 'W' }),
      field('battery_type', 'string', 'Chemistry'),
      field('battery_rated', 'number', 'Energy when new', { unit: 'Wh' }),
      field('shut_down_level', 'number', 'Charge at which the node stops itself', { unit: '%' }),
      field('restart_level', 'number', 'Charge at which it comes back', { unit: '%' }),
      field('usual_gap', 'number', 'Usual time between two messages', { unit: 's' }),
    ],
    primaryKey: ['site_id'],
    rows: sites.map(({ site, node }) => {
      const place = placeOf(site.position, positions);
      return [
        site.id,
        site.name,
        node?.name,
        place?.latitudeDeg,
        place?.longitudeDeg,
        place?.elevationM,
        place && 'WGS 84',
        place?.blurM,
        site.timeZone,
        node && instantText(node.commissionedAtMs),
        node?.retiredAtMs === undefined ? null : instantText(node.retiredAtMs),
        null,
        node?.power.panel.tiltDeg,
        node?.power.panel.azimuthDeg,
        node?.power.panel.ratedW,
        node?.power.battery.chemistry,
        node?.power.battery.ratedWh,
        node && percent(node.power.shutDownRatio),
        node && percent(node.power.restartRatio),
        node?.power.usualGapS,
      ];
    }),
  };
}

const percent = (ratio: number): number => Number((ratio * 100).toFixed(2));

/** RFC 7946: WGS 84, longitude first. A site whose position is left out has a null geometry. */
export function sitesGeoJson(sites: readonly ExportSite[], positions: PositionChoice): string {
  return `${JSON.stringify(
    {
      type: 'FeatureCollection',
      features: sites.map(({ site, node }) => {
        const place = placeOf(site.position, positions);
        return {
          type: 'Feature',
          id: site.id,
          geometry:
            place === undefined
              ? null
              : {
                  type: 'Point',
                  coordinates: [place.longitudeDeg, place.latitudeDeg, place.elevationM],
                },
          properties: {
            site_id: site.id,
            name: site.name,
            node_id: node?.name ?? null,
            time_zone: site.timeZone,
            position_blur_m: place?.blurM ?? null,
          },
        };
      }),
    },
    null,
    1,
  )}\n`;
}
