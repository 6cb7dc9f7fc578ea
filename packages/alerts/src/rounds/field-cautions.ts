import type { BatteryChemistry } from '@duskline/domain';

/** One caution, to be read and ticked before somebody sets out. */
export interface FieldCaution {
  readonly key: string;
  readonly says: string;
}

const ALWAYS: readonly FieldCaution[] = [
  {
    key: 'no-risk-assessment',
    says: 'This page is not a risk assessment and gives no permission. Follow local law, the rules of the site and the makers’ instructions. Work that local rules reserve to licensed people must be done by them.',
  },
  {
    key: 'lone-work',
    says: 'Somebody knows your route and when you will be back, and what to do if you are not. Turn round before dark. Two people for height, water, winter and remote places. “I’m back” on this page is not an emergency service: in need, call the emergency services.',
  },
  {
    key: 'electricity',
    says: 'A panel in daylight is live and cannot be switched off: cover it, and part connectors without load. Direct current draws arcs; mind polarity; even a small battery welds metal, so take off rings. Anything on mains or on a building: a licensed electrician. Leave at the first thunder and touch no mast.',
  },
  {
    key: 'height',
    says: 'Stay on the ground wherever it can be done from there. No roof, pole, tower or tree without training for it; no ladder on snow, ice, soft ground or in wind; keep clear of overhead lines.',
  },
  {
    key: 'site',
    says: 'Look for ticks, nests in boxes, snakes, cattle, flood water, falling branches, hunting, fire bans and protected species; have the land-owner’s permission; stop where traffic allows it. Clean a panel with water and a soft brush, never a hot one with cold water, and never stand on it.',
  },
  {
    key: 'threat',
    says: 'If somebody is there who should not be: do not confront them, leave, and report it.',
  },
];

const LITHIUM: FieldCaution = {
  key: 'lithium',
  says: 'Lithium battery: swollen, leaking, smoking, hissing, hot or dented means do not open, move, charge or discharge it; keep away and upwind and call the emergency services: the gas is poisonous and burns. Never charge below 0 °C. Fuse at the battery, tools insulated, one terminal covered. A damaged one may not be carried like any other goods: ask the carrier.',
};
const LEAD: FieldCaution = {
  key: 'lead-acid',
  says: 'Lead-acid battery: acid and explosive gas. Eye protection, fresh air, no sparks; it is heavy, lift it with somebody.',
};
const NICKEL: FieldCaution = {
  key: 'nickel',
  says: 'Nickel battery: cover one terminal while you work, a short circuit burns; caustic if it leaks.',
};

const byChemistry: Readonly<Record<BatteryChemistry, FieldCaution>> = {
  'li-ion-nmc': LITHIUM,
  'li-ion-lco': LITHIUM,
  lifepo4: LITHIUM,
  'lead-acid-flooded': LEAD,
  'lead-acid-agm': LEAD,
  nimh: NICKEL,
};

/**
 * The cautions of a visit, each with a key that stays the same, so that a tick can be kept. They defer to local rules and
 * licensed people and give no permission.
 *
 * Sources: cell makers' data sheets (no lithium charge below 0 °C), insurers' and OSHA's guidance on damaged lithium cells,
 * UK HSE INDG401 (work at height); otherwise common practice, no source.
 */
export function fieldCautions(chemistry: BatteryChemistry | undefined): readonly FieldCaution[] {
  return chemistry === undefined ? ALWAYS : [byChemistry[chemistry], ...ALWAYS];
}
