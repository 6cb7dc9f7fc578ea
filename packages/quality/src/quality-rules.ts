import { metric, metricKeys, type MetricKey, type QualityTest } from '@duskline/domain';
import type { LimitsInForce } from './limits-in-force.ts';

/** One test as applied to some metrics, in words and figures for people. */
export interface QualityRule {
  readonly test: QualityTest;
  /** What it looks for, in a sentence. */
  readonly says: string;
  readonly source: string;
  /** Limits by metric, each a sentence's end: `suspect above 0.5 V`. A rule for any reading has none. */
  readonly limits: readonly { readonly metric: MetricKey; readonly limit: string }[];
}

const QARTOD = 'QARTOD manuals; ioos_qc';
const PRACTICE = 'common practice, no source';

/** Every test with the limits that are in force for a node. */
export function qualityRules(limits: LimitsInForce): readonly QualityRule[] {
  const { cross } = limits;
  const per = (say: (key: MetricKey, unit: string) => string | undefined): QualityRule['limits'] =>
    metricKeys.flatMap((key) => {
      const limit = say(key, metric(key).unit);
      return limit === undefined ? [] : [{ metric: key, limit }];
    });
  const one = (key: MetricKey, limit: string) => [{ metric: key, limit }];
  const rule = (
    test: QualityTest,
    says: string,
    source: string,
    of: QualityRule['limits'] = [],
  ): QualityRule => ({
    test,
    says,
    source,
    limits: of,
  });
  const night = `while the sun is below ${cross.nightBelowDeg}°`;
  return [
    rule(
      'gap',
      'Is the node heard within its expected time? Shown as its state, not kept with readings.',
      QARTOD,
    ),
    rule('impossible-date', 'Dated before 2020 or more than a day after it was received.', QARTOD),
    rule(
      'gross-range',
      'Outside what the sensor or nature can give.',
      QARTOD,
      per((key, unit) => {
        const { failSpan, suspectSpan } = limits.of(key);
        const said = [
          failSpan && `fails outside ${failSpan[0]} to ${failSpan[1]} ${unit}`.trim(),
          suspectSpan && `suspect outside ${suspectSpan[0]} to ${suspectSpan[1]} ${unit}`.trim(),
        ].filter((text) => text !== undefined);
        return said.length === 0 ? undefined : said.join(', ');
      }),
    ),
    rule(
      'spike',
      'Far from the middle of the readings before and after it.',
      QARTOD,
      per((key, unit) =>
        withFail(limits.of(key).spike, (value) => `above ${value} ${unit}`.trim()),
      ),
    ),
    rule(
      'rate-of-change',
      'Changed faster than it can from the reading before.',
      `${QARTOD}; steps after WMO (Zahumenský 2004)`,
      per((key, unit) => {
        const rate = limits.of(key).rate;
        if (rate === undefined) return undefined;
        const { suspectPerS: suspect, failPerS: fail } = rate;
        return withFail(
          { suspect, ...(fail === undefined ? {} : { fail }) },
          (value) => `above ${round(value * 60)} ${unit} a minute`,
        );
      }),
    ),
    rule(
      'flat-line',
      'Did not move at all. Saturated air, calm, dry and dark are exempt.',
      QARTOD,
      per((key, unit) => {
        const flat = limits.of(key).flatLine;
        if (flat === undefined) return undefined;
        const fails = flat.failS === undefined ? '' : `, fails after ${round(flat.failS / 3600)} h`;
        return `suspect with less than ${flat.tolerance} ${unit} in ${round(flat.suspectS / 3600)} h${fails}`;
      }),
    ),
    rule(
      'neighbour',
      'Far from the median of at least three other nodes. Worked out on request, not kept with readings.',
      'QARTOD manuals (suggested test)',
      per((key, unit) =>
        withFail(limits.of(key).neighbour, (value) => `above ${value} ${unit}`.trim()),
      ),
    ),
    rule('unsure-time', 'Its time cannot be trusted: suspect, and off the time axis.', PRACTICE),
    rule('panel-power-at-night', 'A panel gives nothing in the dark.', PRACTICE, [
      ...one('panel_w', `fails above ${cross.panelWAtNight} W ${night}`),
      ...one('panel_i', `fails above ${cross.panelAAtNight} A ${night}`),
    ]),
    rule(
      'panel-voltage-at-night',
      'A panel has no voltage in the dark.',
      PRACTICE,
      one('panel_v', `suspect above ${cross.panelVAtNight} V ${night}`),
    ),
    rule(
      'dew-point-above-air',
      'Air cannot be colder than its dew point.',
      'physics',
      one('dew_point', `suspect more than ${cross.dewPointAboveAirC} °C above the air temperature`),
    ),
    rule(
      'gust-below-mean',
      'A gust is never weaker than the mean wind.',
      'physics',
      one('wind_gust', `suspect more than ${cross.gustBelowMeanMs} m/s below the wind speed`),
    ),
    rule(
      'brighter-than-clear-sky',
      'More sunlight than a clear sky gives, for longer than the edge of a cloud lasts.',
      PRACTICE,
      one(
        'irradiance',
        `suspect above ${cross.clearSkyRatio} × clear sky for more than ${round(cross.clearSkyS / 60)} min`,
      ),
    ),
    rule(
      'charge-jump',
      'No battery charges or empties so fast.',
      PRACTICE,
      one(
        'charge',
        `suspect with more than ${cross.chargeJumpPct} points in ${round(cross.chargeJumpS / 60)} min`,
      ),
    ),
    rule(
      'current-without-light',
      'A panel gives no current without light.',
      PRACTICE,
      one(
        'panel_i',
        `suspect above ${cross.currentA} A with less than ${cross.currentBelowWPerM2} W/m²`,
      ),
    ),
    rule(
      'rain-in-dry-air',
      'Rain in dry air is mostly a knocked gauge.',
      PRACTICE,
      one(
        'rain',
        `suspect above ${cross.rainMm} mm with less than ${cross.rainBelowRhPct} % humidity`,
      ),
    ),
  ];
}

const round = (value: number): number => Math.round(value * 1000) / 1000;

function withFail(
  limits: { readonly suspect: number; readonly fail?: number } | undefined,
  say: (value: number) => string,
): string | undefined {
  if (limits === undefined) return undefined;
  const fails = limits.fail === undefined ? '' : `, fails ${say(limits.fail)}`;
  return `suspect ${say(limits.suspect)}${fails}`;
}
