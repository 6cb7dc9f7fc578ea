import type { SitePageJson, WhatIfJson } from '@duskline/contract';

export const whatIfKinds = [
  'log-less',
  'less-at-night',
  'clean-panel',
  'bigger-panel',
  'bigger-battery',
  'tilt',
] as const;
export type WhatIfKind = (typeof whatIfKinds)[number];

type Power = NonNullable<SitePageJson['power']>;

/** What may be tried, in the unit a person thinks in. */
export interface AmountRange {
  readonly least: number;
  readonly most: number;
  readonly step: number;
  readonly start: number;
}

const clamp = (value: number, least: number, most: number): number =>
  Math.min(most, Math.max(least, value));

/** Of a rating of today: up to ten times, in steps a catalogue has. */
function ratingRange(now: number, step: number): AmountRange {
  const least = (Math.floor(now / step) + 1) * step;
  return {
    least,
    most: now * 10,
    step,
    start: clamp(Math.round((now * 1.5) / step) * step, least, now * 10),
  };
}

export function amountRange(kind: WhatIfKind, power: Power): AmountRange {
  switch (kind) {
    case 'log-less':
    case 'less-at-night':
      return { least: 5, most: 95, step: 5, start: 30 };
    case 'clean-panel':
      return { least: 5, most: 200, step: 5, start: 15 };
    case 'bigger-panel':
      return ratingRange(power.panelW, power.panelW < 20 ? 1 : 5);
    case 'bigger-battery':
      return ratingRange(power.batteryWh, power.batteryWh < 100 ? 5 : 10);
    case 'tilt':
      return {
        least: 0,
        most: 90,
        step: 5,
        start: clamp(Math.round(power.panelTiltDeg / 5) * 5, 0, 90),
      };
  }
}

/** The question as the API takes it. */
export function whatIfChange(kind: WhatIfKind, amount: number, power: Power): WhatIfJson {
  switch (kind) {
    case 'log-less':
    case 'less-at-night':
      return { kind, savedShare: amount / 100 };
    case 'clean-panel':
      return { kind, factor: 1 + amount / 100 };
    case 'bigger-panel':
      return { kind, factor: amount / power.panelW };
    case 'bigger-battery':
      return { kind, factor: amount / power.batteryWh };
    case 'tilt':
      return { kind, tiltDeg: amount };
  }
}
