import type { BatteryChemistry } from '@duskline/domain';

/** Shown with every alert that sends somebody out; it gives no permission for anything. */
const ALWAYS =
  'This is not a risk assessment: follow local rules and the maker’s instructions, tell someone your route and when you will be back, and turn round before dark.';

const LITHIUM =
  'Lithium battery: never charge it below 0 °C; leave it alone if it is swollen, hot, leaking or hissing, keep away and upwind, and call the emergency services.';
const LEAD =
  'Lead-acid battery: acid and explosive gas; eye protection, fresh air, no sparks; it is heavy.';
const NIMH = 'Cover one terminal while you work: even a small battery welds metal.';
const PANEL =
  'A panel in daylight is live: cover it before you part a connector. Do no ladder, pole or roof work unless you are trained for it and not alone.';

const byChemistry: Readonly<Record<BatteryChemistry, string>> = {
  'li-ion-nmc': LITHIUM,
  'li-ion-lco': LITHIUM,
  lifepo4: LITHIUM,
  'lead-acid-flooded': LEAD,
  'lead-acid-agm': LEAD,
  nimh: NIMH,
};

/**
 * The cautions for a visit to a node with this battery.
 *
 * Sources: cell makers' data sheets (no lithium charge below 0 °C), UK HSE INDG401 (work at height), common practice.
 */
export function visitCautions(chemistry: BatteryChemistry): readonly string[] {
  return [byChemistry[chemistry], PANEL, ALWAYS];
}
