import type { FleetRule } from '../fleet-rule.ts';
import { badWeather } from './bad-weather.ts';
import { nobodyComing } from './nobody-coming.ts';
import { notOurs } from './not-ours.ts';
import { sharedLinkDown } from './shared-link-down.ts';
import { visitLate } from './visit-late.ts';

/** Every rule about the fleet as a whole. */
export const fleetRules: readonly FleetRule[] = [
  sharedLinkDown,
  badWeather,
  notOurs,
  nobodyComing,
  visitLate,
];
