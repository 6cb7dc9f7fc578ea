import type { ChargeEstimate, HourlyHistory, Position, PowerSystem } from '@duskline/domain';
import type { LearntSite } from './learn/learnt-site.ts';
import type { OutsideFacts } from './weather/index.ts';

/** All an outlook is made of. The same inputs give the same outlook, to the last bit. */
export interface ForecastInputs {
  readonly nowMs: number;
  /** Any whole number; the caller keeps it with the outlook. */
  readonly seed: number;
  readonly position: Position;
  readonly power: PowerSystem;
  readonly history: HourlyHistory;
  /** Undefined: no reading of charge or voltage is known. */
  readonly charge: ChargeEstimate | undefined;
  /** Set while the node is dark: when it stopped, and at what charge (0–1). */
  readonly dark?: { readonly sinceMs: number; readonly chargeRatio: number };
  /** Twelve monthly means of daily clearness (level irradiance over that above the air), January first; left out: learnt. */
  readonly clearnessByMonth?: readonly number[];
  /** A weather forecast from elsewhere, issued at or before now, and past ones to judge it by. */
  readonly outside?: OutsideFacts;
  /** What earlier looks at the node have left; left out: the history alone. */
  readonly learnt?: LearntSite;
  /** Known days at which own history and climate weigh the same; 60 when left out. 0: own days alone, to see what the climate adds. */
  readonly evenDays?: number;
  /** How many futures are walked; 500 when left out. */
  readonly paths?: number;
  /** How far ahead, days; 30 when left out. */
  readonly horizonDays?: number;
}
