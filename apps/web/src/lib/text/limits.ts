import { plural } from './plural.ts';

/** The words of the limits of readings: of a site, a node, a part. */
export const limitsText = {
  ofSite: 'For this site',
  ofNode: (name: string) => `For the node ${name}`,
  title: 'Limits of readings',
  act: 'Limits',
  does: 'Readings outside are marked, never deleted.',
  order:
    'A limit of a part comes before one of the node, that before one of the site, and that before the default.',
  ofPart:
    'They hold for readings of the time this part was fitted, also for those that come late. Where two parts set the same limit, the later fitted holds.',
  ends: 'Limits that were set for this part end with it: the next one has none until they are set.',
  none: 'None of its own.',
  metric: 'Metric',
  setBy: (name: string) => `Set by ${name},`,
  from: 'Measures from',
  to: 'to',
  spike: 'Jump that is suspect, over',
  byDefault: (span: string) => `By default: ${span}. Empty: as it is without.`,
  keep: 'Keep',
  drop: 'Take away',
  dropOne: (label: string) => `Take the limits of ${label} away`,
  failed: 'That was not kept.',
  half: 'A measuring range has two ends.',
  upsideDown: 'The measuring range ends below where it begins.',
  notPositive: 'A jump is more than nothing.',
  nothing: 'Give a measuring range or a jump.',
  says: {
    fails: (span: string) => `fails outside ${span}`,
    failsOff: 'no measuring range',
    suspect: (span: string) => `suspect outside ${span}`,
    suspectOff: 'nothing between good and failed',
    span: (low: string, high: string) => `${low} to ${high}`,
    spike: (least: string) =>
      `suspect more than ${least} from the middle of its neighbours in time`,
    spikeFails: (least: string) => `, fails more than ${least}`,
    spikeOff: 'jumps are not tested',
    rate: (least: string) => `suspect when it changes by more than ${least} a minute`,
    rateFails: (least: string) => `, fails by more than ${least} a minute`,
    rateOff: 'its rate of change is not tested',
    still: (least: string, length: string) =>
      `suspect with less than ${least} of change in ${length}`,
    stillFails: (length: string) => `, fails after ${length}`,
    stillOff: 'standing still is not tested',
    neighbour: (least: string) => `noted more than ${least} from its neighbours by day`,
    neighbourOff: 'not compared with its neighbours',
  },
  others: (count: number) =>
    `And ${plural(count, 'limit', 'limits')} of readings held against each other, set through the API; they stay as they are here.`,
};
