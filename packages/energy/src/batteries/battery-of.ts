import type { BatteryChemistry } from '@duskline/domain';
import type { BatteryFacts } from './battery-facts.ts';
import { leadAcidAgm } from './lead-acid-agm.ts';
import { leadAcidFlooded } from './lead-acid-flooded.ts';
import { liIonLco } from './li-ion-lco.ts';
import { liIonNmc } from './li-ion-nmc.ts';
import { lifepo4 } from './lifepo4.ts';
import { nimh } from './nimh.ts';

const batteries: Readonly<Record<BatteryChemistry, BatteryFacts>> = {
  'li-ion-nmc': liIonNmc,
  'li-ion-lco': liIonLco,
  lifepo4,
  'lead-acid-flooded': leadAcidFlooded,
  'lead-acid-agm': leadAcidAgm,
  nimh,
};

/** The facts of a chemistry, per cell, with their sources. */
export function batteryOf(chemistry: BatteryChemistry): BatteryFacts {
  return batteries[chemistry];
}
