import { DAY_MS, HOUR_MS, type BatteryChemistry } from '@duskline/domain';

/** Energy since the start, Wh: what came in at the panel is what the node had, what was lost, and what is stored more. */
export interface EnergyBook {
  readonly harvestWh: number;
  readonly servedWh: number;
  readonly lostWh: number;
}

export interface BatteryTruth {
  /** By its charge, which does not change because it gets colder. */
  readonly storedWh: number;
  readonly book: EnergyBook;
}

export interface BatteryDemand {
  readonly capacityWh: number;
  readonly chemistry: BatteryChemistry;
  readonly batteryC: number;
  /** What the panel could give, W. */
  readonly offeredW: number;
  /** What the node wants, W. */
  readonly wantedW: number;
  readonly durationMs: number;
  /** Nothing keeps charge from cold lithium cells any more. */
  readonly protectionFailed?: boolean;
}

export interface BatteryFlow {
  readonly after: BatteryTruth;
  /** Taken from the panel, W. */
  readonly harvestW: number;
  /** What the node got, W. */
  readonly servedW: number;
  /** Into the battery, W; negative out of it. */
  readonly netW: number;
  readonly stage: 'night' | 'bulk' | 'taper' | 'float' | 'blocked';
}

const CHARGER_EFFICIENCY = 0.95;
/** One way, and the share of the charge lost in a day. Typical figures, no source. */
const LITHIUM = { efficiency: 0.97, lossPerDay: 0.001 };
const LEAD = { efficiency: 0.9, lossPerDay: 0.002 };
/** Share of the capacity an hour (C/2), and where a charger begins to hold back. Common practice, no source. */
const MOST_PER_HOUR = 0.5;
const TAPER_FROM = 0.88;
/** A cold battery gives less for the same charge: half a percent per kelvin at the slow rates of a node. Assumption. */
const COLD_PER_K = 0.005;

const isLead = (chemistry: BatteryChemistry): boolean => chemistry.startsWith('lead');

/**
 * One step of panel, charger, load and battery: the truth of the pretend fleet. No lithium is charged below 0 °C.
 *
 * Every watt-hour is booked where it goes; the sum is checked from outside.
 */
export function stepBatteryTruth(before: BatteryTruth, demand: BatteryDemand): BatteryFlow {
  const { capacityWh, chemistry, batteryC, wantedW } = demand;
  const { efficiency, lossPerDay } = isLead(chemistry) ? LEAD : LITHIUM;
  const hours = demand.durationMs / HOUR_MS;
  const selfLostWh = before.storedWh * lossPerDay * (demand.durationMs / DAY_MS);
  const storedWh = before.storedWh - selfLostWh;
  const charge = storedWh / capacityWh;

  const blocked = !isLead(chemistry) && batteryC < 0 && demand.protectionFailed !== true;
  const taper = Math.min(1, (1 - charge) / (1 - TAPER_FROM));
  const roomW = hours === 0 ? 0 : Math.max(0, capacityWh - storedWh) / (hours * efficiency);
  const acceptW = blocked ? 0 : Math.min(roomW, capacityWh * MOST_PER_HOUR * taper);
  const cold = 1 - COLD_PER_K * Math.min(60, Math.max(0, 25 - batteryC));
  const yieldOut = efficiency * cold;
  const availableW = hours === 0 ? 0 : (storedWh * yieldOut) / hours;

  const offeredW = demand.offeredW * CHARGER_EFFICIENCY;
  const takenW = Math.min(offeredW, wantedW + acceptW);
  const servedW = Math.min(wantedW, takenW + availableW);
  const netW = takenW - servedW;
  const intoCellsW = netW > 0 ? netW * efficiency : netW / yieldOut;
  const harvestW = takenW / CHARGER_EFFICIENCY;
  const lostW = harvestW - takenW + (netW - intoCellsW);
  const { book } = before;
  return {
    after: {
      storedWh: Math.min(capacityWh, Math.max(0, storedWh + hours * intoCellsW)),
      book: {
        harvestWh: book.harvestWh + hours * harvestW,
        servedWh: book.servedWh + hours * servedW,
        lostWh: book.lostWh + hours * lostW + selfLostWh,
      },
    },
    harvestW,
    servedW,
    netW,
    stage: stageOf({ offeredW, blocked, charge, held: takenW < offeredW }),
  };
}

function stageOf(now: {
  readonly offeredW: number;
  readonly blocked: boolean;
  readonly charge: number;
  readonly held: boolean;
}): BatteryFlow['stage'] {
  if (now.offeredW <= 0.01) return 'night';
  if (now.blocked) return 'blocked';
  if (!now.held) return 'bulk';
  return now.charge > 0.99 ? 'float' : 'taper';
}
