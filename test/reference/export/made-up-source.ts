import type { FieldNode, NodeId, NodeName, Site, SiteId } from '@duskline/domain';
import {
  writeExport,
  type ExportRequest,
  type ExportSource,
  type SourceSample,
} from '@duskline/export';
import { PassThrough } from 'node:stream';
import { buffer } from 'node:stream/consumers';

export const FROM_MS = Date.UTC(2026, 9, 24);
export const TO_MS = FROM_MS + 3 * 86_400_000;
const METRICS = ['air_temp', 'batt_v', 'rain'] as const;
/** Every ten minutes, and none on the second day. */
const STEP_MS = 600_000;
const SILENT = [FROM_MS + 86_400_000, FROM_MS + 2 * 86_400_000] as const;

const site: Site = {
  id: 'upper-weir' as SiteId,
  name: '=cmd|"calc", upper\r\nweir',
  position: { latitudeDeg: 54.71234, longitudeDeg: -2.31234, elevationM: 412 },
  timeZone: 'Europe/London',
  access: '',
  hazards: '',
};
const node: FieldNode = {
  id: 7 as NodeId,
  name: '-weir-1' as NodeName,
  siteId: site.id,
  commissionedAtMs: FROM_MS,
  power: {
    panel: { ratedW: 20, tiltDeg: 60, azimuthDeg: 180 },
    battery: { chemistry: 'lifepo4', ratedWh: 154, seriesCells: 4 },
    charger: 'mppt',
    shutDownRatio: 0.1,
    restartRatio: 0.5,
    offStateDrawW: 0.03,
    usualGapS: 600,
  },
};

/** Values by hand: -12.3 and 4.1 in turn, 12.81 V, 0.2 mm; so that sums and means are known without any program. */
const values = (i: number): string => `{${i % 2 === 0 ? '-12.3' : '4.1'},12.81,0.2}`;

function samples(): SourceSample[] {
  const made: SourceSample[] = [];
  for (let at = FROM_MS; at < TO_MS; at += STEP_MS) {
    if (at >= SILENT[0] && at < SILENT[1]) continue;
    const time = new Date(at).toISOString().replace('T', ' ').replace('.000Z', '+00');
    made.push({
      at: time,
      received: time.replace('+00', '.5+00'),
      layoutId: 1,
      timeQuality: null,
      values: values(made.length),
      flags: made.length === 4 ? '{3,1,1}' : null,
      tests: made.length === 4 ? '{8,0,0}' : null,
      stale: false,
      card: made.length === 5,
    });
  }
  return made;
}

export const made = samples();
export const READINGS = made.length * METRICS.length;

export const source: ExportSource = {
  sites: [{ site, node }],
  people: [{ name: 'A. Keeper', role: 'keeper' }],
  layouts: new Map([[1, METRICS]]),
  counts: () => Promise.resolve([{ layoutId: 1, samples: made.length }]),
  async *samples() {
    for (let from = 0; from < made.length; from += 50) yield made.slice(from, from + 50);
  },
  parts: () =>
    Promise.resolve([
      {
        id: '1',
        siteId: site.id,
        kind: 'sensor',
        serial: '+44 A',
        maker: 'Thermo "old"',
        fittedAtMs: FROM_MS - 86_400_000,
        removedAtMs: FROM_MS + 3_600_000,
        replacedBy: '2',
        rated: {},
        calibration: { coefficients: [0, 1], atMs: FROM_MS - 86_400_000, unit: '°C' },
        notes: '',
      },
      {
        id: '2',
        siteId: site.id,
        kind: 'sensor',
        serial: 'B',
        maker: 'Thermo',
        fittedAtMs: FROM_MS + 3_600_000,
        rated: {},
        calibration: { coefficients: [0, 1], atMs: FROM_MS, unit: '°C' },
        notes: '',
      },
    ]),
  intervals: () =>
    Promise.resolve([
      { state: 'up', fromMs: FROM_MS, toMs: SILENT[0], cause: 'Heard.', evidence: [] },
      {
        state: 'dark-as-designed',
        fromMs: SILENT[0],
        toMs: SILENT[1],
        cause: 'It stopped itself, as its farewell said.',
        evidence: ['Charge 10 %'],
      },
      { state: 'up', fromMs: SILENT[1], cause: 'Heard.', evidence: [] },
    ]),
  acceptedGaps: () => Promise.resolve([]),
  events: () =>
    Promise.resolve([
      { siteId: site.id, atMs: FROM_MS, kind: 'note', sentence: '@SUM(1)', by: 'A. Keeper' },
    ]),
  alerts: () => Promise.resolve([]),
  rules: () =>
    Promise.resolve([
      {
        fromMs: -Infinity,
        toMs: Infinity,
        rules: [
          {
            test: 'gross-range',
            says: 'Outside what the sensor gives.',
            source: 'QARTOD manuals',
            limits: [{ metric: 'air_temp', limit: 'fails outside -50 to 50 °C' }],
          },
        ],
      },
    ]),
  outlooks: () => Promise.resolve([]),
  silence: () => Promise.resolve(undefined),
};

export async function exported(choices: Partial<ExportRequest> = {}): Promise<Buffer> {
  const out = new PassThrough();
  const bytes = buffer(out);
  await writeExport({
    source,
    frame: {
      name: 'duskline_upper-weir_2026-10-24_2026-10-27_v1',
      version: 1,
      madeAtMs: TO_MS,
      by: 'A. Nalyst',
      query: '{}',
      citation: 'Duskline fleet.',
    },
    request: {
      fromMs: FROM_MS,
      toMs: TO_MS,
      format: 'zip',
      flags: [1, 2, 3, 4],
      wide: false,
      localTime: false,
      spreadsheet: false,
      positions: 'blurred',
      forecasts: true,
      names: false,
      licence: 'CC-BY-4.0',
      ...choices,
    },
    out,
    signal: new AbortController().signal,
    onProgress: () => undefined,
  });
  return await bytes;
}
