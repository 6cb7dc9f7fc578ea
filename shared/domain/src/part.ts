import type { SiteId } from './ids.ts';
import type { BatteryChemistry, PowerSystem } from './site.ts';

export const partKinds = ['panel', 'battery', 'charger', 'sensor', 'radio', 'board'] as const;
export type PartKind = (typeof partKinds)[number];

/** What the maker's plate says; what is not on it, or not known, is left out. */
export interface PartRating {
  /** Panel: at 1000 W/m² and 25 °C. */
  readonly powerW?: number;
  /** Battery: when new. */
  readonly energyWh?: number;
  readonly voltageV?: number;
  readonly currentA?: number;
  readonly chemistry?: BatteryChemistry;
  readonly seriesCells?: number;
}

/** How a sensor's raw value becomes the quantity: c₀ + c₁·raw + c₂·raw² … */
export interface Calibration {
  readonly coefficients: readonly number[];
  readonly atMs: number;
  /** Standard uncertainty (k = 1) in `unit`; left out where the certificate names none. */
  readonly uncertainty?: number;
  readonly unit: string;
}

/** Something at a site with a serial and a life. */
export interface Part {
  /** Given by the store. */
  readonly id: string;
  readonly siteId: SiteId;
  readonly kind: PartKind;
  readonly serial: string;
  /** Maker and type, as on the plate. */
  readonly maker: string;
  readonly fittedAtMs: number;
  /** Undefined: still at the site. */
  readonly removedAtMs?: number;
  readonly rated: PartRating;
  readonly calibration?: Calibration;
  readonly notes: string;
  /** The part that came in its place. */
  readonly replacedBy?: string;
}

/** The design values with this part in them: a new panel or battery changes what a forecast starts from. */
export function powerWithPart(
  power: PowerSystem,
  { kind, rated }: Pick<Part, 'kind' | 'rated'>,
): PowerSystem {
  switch (kind) {
    case 'panel':
      return {
        ...power,
        panel: { ...power.panel, ratedW: rated.powerW ?? power.panel.ratedW },
      };
    case 'battery':
      return {
        ...power,
        battery: {
          ...power.battery,
          chemistry: rated.chemistry ?? power.battery.chemistry,
          ratedWh: rated.energyWh ?? power.battery.ratedWh,
          seriesCells: rated.seriesCells ?? power.battery.seriesCells,
        },
      };
    default:
      return power;
  }
}
