import type { BatteryChemistry, Position, PowerSystem } from '@duskline/domain';

/** What is wrong at a site, on purpose. */
export type Drill =
  /** Its charge ran down some days ago; it said farewell and waits for sun. */
  | { readonly kind: 'dark-as-designed' }
  /** Fell silent with a healthy charge: a broken board. */
  | { readonly kind: 'board-failed'; readonly hoursAgo: number }
  /** The panel gives nothing since: a corroded connector. */
  | { readonly kind: 'connector-failed'; readonly daysAgo: number }
  /** The battery holds only this share of what is printed on it. */
  | { readonly kind: 'weak-battery'; readonly capacityShare: number }
  /** Leaves grow in front of the panel between two bearings, from clear to this share of the beam over a month. */
  | {
      readonly kind: 'leaves';
      readonly fromAzimuthDeg: number;
      readonly toAzimuthDeg: number;
      readonly beamLost: number;
    };

export type ExtraSensor = 'rain' | 'water' | 'wind' | 'soil' | 'camera';

export interface SimulatedSite {
  readonly id: string;
  readonly name: string;
  readonly position: Position;
  readonly power: PowerSystem;
  /** Mean load while up. */
  readonly loadW: number;
  readonly sensor: ExtraSensor;
  /** Without a gauge the node reports only voltage and current. */
  readonly gauge: boolean;
  /** It tells of its box, its card and its clock as well. */
  readonly housekeeping?: boolean;
  readonly access: string;
  readonly hazards: string;
  readonly drill?: Drill;
}

export const TIME_ZONE = 'Europe/London';

interface Row {
  readonly id: string;
  readonly name: string;
  /** Kilometres east and north of the catchment's mouth, and height. */
  readonly at: readonly [number, number, number];
  readonly panelW: number;
  readonly battery: readonly [BatteryChemistry, number, number];
  readonly loadW: number;
  readonly sensor: ExtraSensor;
  readonly gauge?: false;
  readonly drill?: Drill;
}

const LFP = (wh: number): Row['battery'] => ['lifepo4', wh, 4];
const ION = (wh: number): Row['battery'] => ['li-ion-nmc', wh, 3];
const LEAD = (wh: number): Row['battery'] => ['lead-acid-agm', wh, 6];

/** The Greywater catchment: twenty invented sites from the sluice by the road up to the watershed. Nothing here exists. */
const rows: readonly Row[] = [
  {
    id: 'rushy-sluice',
    name: 'Rushy Sluice',
    at: [0, 0, 88],
    panelW: 20,
    battery: LFP(154),
    loadW: 1.1,
    sensor: 'water',
    drill: { kind: 'connector-failed', daysAgo: 2.2 },
  },
  {
    id: 'sallow-bridge',
    name: 'Sallow Bridge',
    at: [1.1, 0.9, 96],
    panelW: 22,
    battery: LFP(230),
    loadW: 1,
    sensor: 'water',
  },
  {
    id: 'nether-reeds',
    name: 'Nether Reeds',
    at: [1.9, 2.2, 101],
    panelW: 50,
    battery: LFP(307),
    loadW: 1.2,
    sensor: 'camera',
  },
  {
    id: 'withy-weir',
    name: 'Withy Weir',
    at: [2.6, 3.1, 112],
    panelW: 24,
    battery: LFP(154),
    loadW: 0.9,
    sensor: 'water',
    drill: { kind: 'weak-battery', capacityShare: 0.42 },
  },
  {
    id: 'heron-pool',
    name: 'Heron Pool',
    at: [3.4, 3.6, 118],
    panelW: 40,
    battery: ION(130),
    loadW: 0.9,
    sensor: 'camera',
  },
  {
    id: 'brackwell-ford',
    name: 'Brackwell Ford',
    at: [4.3, 4.9, 131],
    panelW: 40,
    battery: LFP(230),
    loadW: 1,
    sensor: 'water',
    drill: { kind: 'board-failed', hoursAgo: 30 },
  },
  {
    id: 'moorgate-culvert',
    name: 'Moorgate Culvert',
    at: [5.2, 4.2, 144],
    panelW: 50,
    battery: LEAD(480),
    loadW: 1.1,
    sensor: 'water',
    gauge: false,
  },
  {
    id: 'slack-bottom',
    name: 'Slack Bottom',
    at: [5.9, 6.1, 163],
    panelW: 60,
    battery: LFP(307),
    loadW: 1.2,
    sensor: 'soil',
  },
  {
    id: 'thornhow',
    name: 'Thornhow',
    at: [6.4, 7.3, 187],
    panelW: 40,
    battery: LFP(230),
    loadW: 0.8,
    sensor: 'soil',
    drill: { kind: 'leaves', fromAzimuthDeg: 140, toAzimuthDeg: 195, beamLost: 0.8 },
  },
  {
    id: 'fell-foot',
    name: 'Fell Foot',
    at: [7.7, 7.9, 204],
    panelW: 50,
    battery: LFP(307),
    loadW: 1,
    sensor: 'rain',
  },
  {
    id: 'hollin-sike',
    name: 'Hollin Sike',
    at: [8.3, 9.4, 238],
    panelW: 40,
    battery: ION(200),
    loadW: 0.8,
    sensor: 'water',
    gauge: false,
  },
  {
    id: 'otter-stones',
    name: 'Otter Stones',
    at: [9.1, 8.8, 226],
    panelW: 40,
    battery: LFP(230),
    loadW: 0.9,
    sensor: 'camera',
  },
  {
    id: 'marl-beck',
    name: 'Marl Beck',
    at: [9.9, 10.6, 262],
    panelW: 26,
    battery: LFP(307),
    loadW: 1.1,
    sensor: 'water',
  },
  {
    id: 'cold-spout',
    name: 'Cold Spout',
    at: [10.8, 11.2, 301],
    panelW: 22,
    battery: LFP(230),
    loadW: 0.9,
    sensor: 'water',
  },
  {
    id: 'ling-ridge',
    name: 'Ling Ridge',
    at: [11.6, 12.9, 388],
    panelW: 60,
    battery: LFP(307),
    loadW: 1,
    sensor: 'wind',
  },
  {
    id: 'peat-hag',
    name: 'Peat Hag',
    at: [12.8, 12.1, 412],
    panelW: 20,
    battery: LFP(230),
    loadW: 0.9,
    sensor: 'soil',
    gauge: false,
  },
  {
    id: 'long-moss',
    name: 'Long Moss',
    at: [13.4, 13.8, 431],
    panelW: 20,
    battery: LFP(102),
    loadW: 1,
    sensor: 'soil',
    drill: { kind: 'dark-as-designed' },
  },
  {
    id: 'tarn-gill',
    name: 'Tarn Gill',
    at: [14.1, 15, 447],
    panelW: 17,
    battery: LFP(154),
    loadW: 0.8,
    sensor: 'rain',
  },
  {
    id: 'blea-edge',
    name: 'Blea Edge',
    at: [15.2, 15.7, 506],
    panelW: 24,
    battery: LFP(307),
    loadW: 1.1,
    sensor: 'wind',
  },
  {
    id: 'high-cairn',
    name: 'High Cairn',
    at: [16, 17.1, 561],
    panelW: 80,
    battery: LFP(410),
    loadW: 1.3,
    sensor: 'rain',
  },
];

/** The volunteers' workshop, in the village below the mouth: kilometres and height as for the sites. */
const WORKSHOP: Row['at'] = [-2.3, -1.4, 61];

/** Somewhere wet in the north: the degrees are made up to carry the sun, not to be visited. */
const MOUTH = { latitudeDeg: 54.87, longitudeDeg: -2.93 };
const KM_PER_DEGREE = 111.2;

function positionAt([eastKm, northKm, elevationM]: Row['at']): Position {
  return {
    latitudeDeg: round(MOUTH.latitudeDeg + northKm / KM_PER_DEGREE),
    longitudeDeg: round(MOUTH.longitudeDeg + eastKm / (KM_PER_DEGREE * 0.575)),
    elevationM,
  };
}
export const workshopPosition = positionAt(WORKSHOP);

export const fleet: readonly SimulatedSite[] = rows.map((row) => {
  const [, , elevationM] = row.at;
  const [chemistry, ratedWh, seriesCells] = row.battery;
  const lead = chemistry === 'lead-acid-agm';
  return {
    id: row.id,
    name: row.name,
    position: positionAt(row.at),
    power: {
      panel: { ratedW: row.panelW, tiltDeg: 68, azimuthDeg: 180 },
      battery: { chemistry, ratedWh, seriesCells },
      charger: 'mppt',
      shutDownRatio: lead ? 0.4 : 0.1,
      restartRatio: lead ? 0.7 : 0.5,
      offStateDrawW: 0.08,
      usualGapS: 30,
    },
    loadW: row.loadW,
    sensor: row.sensor,
    gauge: row.gauge ?? true,
    access: `Gate ${(row.id.length % 7) + 1}, then on foot; ask at the farm below.`,
    hazards:
      elevationM > 350
        ? 'No coverage on the last kilometre; bog off the path.'
        : 'Water; slippery stones.',
    ...(row.drill === undefined ? {} : { drill: row.drill }),
  };
});

function round(degrees: number): number {
  return Math.round(degrees * 1e4) / 1e4;
}
