import type { QualityLimitsJson } from '@duskline/contract';
import { metric, type MetricKey } from '@duskline/domain';
import { limitsText } from '../../text/limits.ts';

/** The limits set for one metric, as the API has them: what is absent is not set, null switches a test off. */
export type MetricLimitsJson = NonNullable<QualityLimitsJson['metrics']>[string];

const words = limitsText.says;
const MINUTE_S = 60;
const HOUR_S = 3600;
/** No more digits than somebody typed, without the noise of a division. */
export const plain = (value: number): string =>
  String(Number(value.toPrecision(12))).replace('-', '\u2212');

/** "−20 to 50 °C". */
export function saySpan(key: MetricKey, [low = 0, high = 0]: readonly number[]): string {
  return words.span(plain(low), sayAmount(key, high));
}

function sayAmount(key: MetricKey, value: number): string {
  const { unit } = metric(key);
  return unit === '' ? plain(value) : `${plain(value)}\u00a0${unit}`;
}

/** What was set for a metric, each test a part of a sentence. */
export function sayLimits(key: MetricKey, limits: MetricLimitsJson): readonly string[] {
  const { failSpan, suspectSpan, spike, rate, flatLine, neighbour } = limits;
  const amount = (value: number): string => sayAmount(key, value);
  const perMinute = (perS: number): string => amount(perS * MINUTE_S);
  return [
    said(failSpan, words.failsOff, (span) => words.fails(saySpan(key, span))),
    said(suspectSpan, words.suspectOff, (span) => words.suspect(saySpan(key, span))),
    said(
      spike,
      words.spikeOff,
      ({ suspect, fail }) =>
        words.spike(amount(suspect)) + (fail === undefined ? '' : words.spikeFails(amount(fail))),
    ),
    said(
      rate,
      words.rateOff,
      ({ suspectPerS, failPerS }) =>
        words.rate(perMinute(suspectPerS)) +
        (failPerS === undefined ? '' : words.rateFails(perMinute(failPerS))),
    ),
    said(
      flatLine,
      words.stillOff,
      ({ tolerance, suspectS, failS }) =>
        words.still(amount(tolerance), length(suspectS)) +
        (failS === undefined ? '' : words.stillFails(length(failS))),
    ),
    said(neighbour, words.neighbourOff, ({ suspect }) => words.neighbour(amount(suspect))),
  ].filter((part) => part !== undefined);
}

/** "2.5 h", or "20 min": as exact as somebody typed it. */
const length = (s: number): string =>
  s < HOUR_S ? `${plain(s / MINUTE_S)}\u00a0min` : `${plain(s / HOUR_S)}\u00a0h`;

function said<T>(
  limit: T | null | undefined,
  off: string,
  say: (limit: T) => string,
): string | undefined {
  if (limit === undefined) return undefined;
  return limit === null ? off : say(limit);
}
