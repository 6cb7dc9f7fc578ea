import type { Learnt, LearntPart, LearntSite } from './learnt-site.ts';

/** One line of what was learnt, for people: value, band, from how many days, until when, how sure, how. */
export interface LearntLine {
  readonly part: LearntPart;
  readonly name: string;
  readonly says: string;
}

/** Everything a node has taught, line by line, in words. Instants are given in UTC and say so. */
export function explainLearnt(state: LearntSite): readonly LearntLine[] {
  const { panel, battery, load, weather } = state;
  const line = (part: LearntPart, name: string, learnt: Learnt): LearntLine => ({
    part,
    name,
    says: sayLearnt(learnt, state[part]),
  });
  const shaded = panel.shade.filter(({ shadeRatio }) => shadeRatio < 1);
  return [
    line('panel', 'panel against its plate', panel.scale),
    ...(panel.orientation === undefined
      ? []
      : [
          line('panel', 'tilt of the panel', panel.orientation.tiltDeg),
          line('panel', 'azimuth of the panel', panel.orientation.azimuthDeg),
        ]),
    ...shaded.map(({ azimuthDeg, shadeRatio, hours, season }) => ({
      part: 'panel' as const,
      name: 'shade',
      says:
        `With the sun at ${azimuthDeg}° to ${azimuthDeg + 15}° from north in ${SEASONS[season]} the panel gives ` +
        `${Math.round(100 * shadeRatio)} % of what it gives otherwise, from ${hours} hours.`,
    })),
    ...(panel.warning === undefined
      ? []
      : [{ part: 'panel' as const, name: 'warning', says: panel.warning.says }]),
    line('battery', 'capacity', battery.capacityWh),
    line('battery', 'capacity against its plate', battery.health),
    ...(battery.resistanceOhm === undefined
      ? []
      : [line('battery', 'resistance at 25 °C', battery.resistanceOhm)]),
    line('load', 'load', load.level),
    ...load.steps.map(({ says, atMs }) => ({
      part: 'load' as const,
      name: 'change of load',
      says: `${dateOf(atMs)} (UTC date): ${says}`,
    })),
    line('weather', 'yield of a day', weather.typicalRatio),
  ];
}

const SEASONS = [
  'January and February',
  'March and April',
  'May and June',
  'July and August',
  'September and October',
  'November and December',
];

function sayLearnt(
  { value, low, high, unit, fromDays, sureness, how }: Learnt,
  { sinceMs, untilMs }: { readonly sinceMs?: number; readonly untilMs: number },
): string {
  const shown = (number: number): string =>
    unit === 'ratio'
      ? `${Math.round(100 * number)} %`
      : `${Number(number.toPrecision(3))}${unit === '°' ? '' : ' '}${unit}`;
  const from = sinceMs === undefined ? '' : ` since ${dateOf(sinceMs)}, when it was replaced,`;
  return (
    `${shown(value)} (80 % between ${shown(low)} and ${shown(high)}), ${sureness}, from ${fromDays} days` +
    `${from} until ${dateOf(untilMs)} (UTC date). ${how}`
  );
}

const dateOf = (atMs: number): string => new Date(atMs).toISOString().slice(0, 10);
