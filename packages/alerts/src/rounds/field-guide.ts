import type { CauseKey } from '@duskline/domain';

interface Guide {
  readonly bring: readonly string[];
  /** What to look at and do, in order. */
  readonly steps: readonly string[];
}

const LOOK: Guide = { bring: [], steps: [] };

/**
 * What to bring and to do for each cause of a silence or of poor charging. Common practice, no source; what a maker's
 * instructions or local rules say goes first.
 */
export const fieldGuide: Readonly<Record<CauseKey, Guide>> = {
  'dark-declared': {
    bring: ['charged battery of the same kind'],
    steps: [
      'Measure the battery’s voltage at rest and write it down.',
      'Change the battery only if the plan says so: it may come back by itself.',
    ],
  },
  'dark-inferred': {
    bring: ['charged battery of the same kind'],
    steps: ['Measure the battery’s voltage at rest and write it down.'],
  },
  broken: {
    bring: ['spare node with its key and card', 'spare memory card', 'fuse', 'power cable'],
    steps: [
      'Look before you touch: lights, smell, water, bite marks. Photograph it.',
      'Measure the voltage at the battery, behind the fuse and at the board.',
      'Take the memory card home, or a copy of it, before anything is changed.',
      'Change cable, fuse, card or board, one at a time.',
    ],
  },
  'link-one': {
    bring: ['aerial with cable', 'spare radio or SIM'],
    steps: [
      'Look at the signal with a telephone of the same network.',
      'Check the aerial, its plug and what grew in front of it.',
      'Copy the memory card: the readings are on it.',
    ],
  },
  'link-shared': {
    bring: [],
    steps: ['Look at the gateway and its power before any single site.'],
  },
  'data-cap': { bring: [], steps: ['Copy the memory card: the readings are on it.'] },
  theft: {
    bring: ['serial numbers of the parts', 'camera'],
    steps: [
      'Do not go alone, and not before the police or the land-owner say so.',
      'Photograph first, touch nothing, write down what is missing by serial number.',
    ],
  },
  'our-side': LOOK,
  'clock-reset': {
    bring: ['cell for the clock'],
    steps: ['Set the clock to UTC, change its cell, see that it keeps time through a restart.'],
  },
  'awake-pattern': {
    bring: ['spare memory card with the program'],
    steps: ['Copy the log first, then restart it, and watch one whole cycle of sleep.'],
  },
  'nothing-wrong': LOOK,
  snow: {
    bring: ['soft brush on a long handle'],
    steps: ['Brush the snow off from the ground; do not climb, do not scrape.'],
  },
  soiling: {
    bring: ['water, soft brush and cloth', 'bucket'],
    steps: [
      'Photograph the panel before and after.',
      'Clean it with water and a soft brush, when it is not hot.',
    ],
  },
  shade: {
    bring: ['saw or shears, with the land-owner’s leave'],
    steps: [
      'Photograph the sky from the panel towards the sun’s path.',
      'Cut back what stands in it, with permission, and from the ground.',
    ],
  },
  'panel-moved': {
    bring: ['spanner for the bracket', 'compass', 'tilt gauge'],
    steps: [
      'Measure how it faces and how it leans, and write both down before you move it.',
      'Set it to its design and tighten it; see that the mast stands firm.',
    ],
  },
  connector: {
    bring: ['spare connectors and crimping tool', 'contact spray', 'meter'],
    steps: [
      'Cover the panel before you part a connector.',
      'Measure the panel’s open voltage, then the charge current with the connector made.',
      'Change corroded or loose connectors; make a drip loop.',
    ],
  },
  charger: {
    bring: ['spare charge controller', 'fuse', 'meter'],
    steps: [
      'Measure panel voltage and battery voltage at the controller, in sun.',
      'Panel there and no current: change the fuse, then the controller, in the order its maker gives.',
    ],
  },
  'battery-full': LOOK,
  'too-cold': {
    bring: ['insulation for the battery box'],
    steps: [
      'Do not warm or charge a cold battery by hand; see that its sensor sits on it.',
      'Look whether the battery stands lower or is better packed than it is.',
    ],
  },
  'too-hot': {
    bring: ['shade or vent for the box'],
    steps: ['Leave a swollen or hot battery alone. Else shade and vent the box.'],
  },
  'battery-aged': {
    bring: ['new battery of the same kind, charged', 'insulated tools', 'torque key'],
    steps: [
      'Write down the serial numbers of the old and the new battery.',
      'Change it, note the date in the parts, take the old one to be recycled.',
    ],
  },
  'stuck-awake': {
    bring: ['spare memory card with the program', 'meter'],
    steps: ['Measure the current awake and asleep before you restart it.'],
  },
  water: {
    bring: ['seals', 'drying agent', 'cable glands'],
    steps: [
      'Look where the water came in, photograph it, dry the box.',
      'Change seals and drying agent; point glands downwards.',
    ],
  },
};

/** What does the work of something else as well: whoever brings the first needs not bring the others. */
export const DOES_FOR: Readonly<Record<string, readonly string[]>> = {
  'new battery of the same kind, charged': ['charged battery of the same kind'],
  'spare memory card with the program': ['spare memory card'],
};

/** Taken to every site. */
export const ALWAYS_BRING: readonly string[] = [
  'key or code of the gate',
  'telephone with this page opened once',
  'meter',
  'spare memory card',
  'water, soft brush and cloth',
  'lamp',
];

/** Done at every site, before and after what the cause asks for. */
export const FIRST_STEPS: readonly string[] = [
  'Photograph the site as you find it.',
  'Read battery voltage and charge current and write them down.',
];
export const LAST_STEPS: readonly string[] = [
  'Clean the panel.',
  'Look for water, insects, loose cables and teeth marks; torque the clamps.',
  'Copy the memory card, or change it.',
  'Wait for a message of the node before you leave, or note that there is no coverage.',
  'Close the box, lock it, take everything home.',
];
