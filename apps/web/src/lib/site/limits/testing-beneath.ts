import type { LimitsBeneathJson } from '@duskline/contract';

const of = (limit: number) => ({ limit, from: 'default' as const, source: 'the test' });

/** What holds beneath, for tests: of each limit of readings held against each other a figure, of metrics what is given. */
export const beneathOf = (metrics: LimitsBeneathJson['metrics']): LimitsBeneathJson => ({
  metrics,
  cross: {
    nightBelowDeg: of(-6),
    panelWAtNight: of(0.1),
    panelAAtNight: of(0.02),
    panelVAtNight: of(5),
    dewPointAboveAirC: of(0.1),
    gustBelowMeanMs: of(0),
    clearSkyRatio: of(1.3),
    clearSkyS: of(600),
    clearSkyLeastWPerM2: of(50),
    chargeJumpPct: of(10),
    chargeJumpS: of(300),
    currentA: of(0.1),
    currentBelowWPerM2: of(5),
    rainMm: of(0),
    rainBelowRhPct: of(60),
  },
});
