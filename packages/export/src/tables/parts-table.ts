import type { Part } from '@duskline/domain';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Table } from './table.ts';

export function partsTable(parts: readonly Part[]): Table {
  return {
    name: 'parts',
    title: 'Parts',
    description:
      'What was fitted at the sites when. A sensor that was changed has two rows: the old one ends where the new one begins.',
    fields: [
      field('part_id', 'string', 'Number of the part, as in observations', {
        constraints: { required: true, unique: true },
      }),
      field('site_id', 'string', 'Where', { text: true }),
      field('kind', 'string', 'panel, battery, charger, sensor, radio or board'),
      field('serial', 'string', 'Serial', { text: true }),
      field('model', 'string', 'Maker and type, as on the plate', { text: true }),
      field('installed_at', 'datetime', 'Fitted'),
      field('removed_at', 'datetime', 'Taken out; empty: still there'),
      field('replaced_by', 'string', 'The part that came in its place'),
      field('calibrated_at', 'datetime', 'Date of the calibration'),
      field('coefficients', 'string', 'c0 c1 c2 …: value = c0 + c1·raw + c2·raw² …'),
      field('uncertainty', 'number', 'Standard uncertainty (k = 1), in calibration_unit'),
      field('calibration_unit', 'string', 'Unit of the calibrated value', { text: true }),
      field('rated_power', 'number', 'Panel, at 1000 W/m² and 25 °C', { unit: 'W' }),
      field('rated_energy', 'number', 'Battery, when new', { unit: 'Wh' }),
      field('notes', 'string', 'Notes', { text: true }),
    ],
    primaryKey: ['part_id'],
    foreignKeys: [toSite],
    rows: parts.map((part) => [
      part.id,
      part.siteId,
      part.kind,
      part.serial,
      part.maker,
      instantText(part.fittedAtMs),
      part.removedAtMs === undefined ? null : instantText(part.removedAtMs),
      part.replacedBy,
      part.calibration && instantText(part.calibration.atMs),
      part.calibration?.coefficients.join(' '),
      part.calibration?.uncertainty,
      part.calibration?.unit,
      part.rated.powerW,
      part.rated.energyWh,
      part.notes,
    ]),
  };
}
