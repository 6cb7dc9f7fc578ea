import type { QualityLimitsJson } from '@duskline/contract';
import { failed, ok, type CrossLimits } from '@duskline/domain';
import { limitsText as words } from '../../text/limits.ts';
import { crossGroups, type CrossGroup } from './cross-groups.ts';
import type { LimitsOfPlace, LimitSubject, LimitTest } from './limit-test.ts';
import { plain } from './say-limits.ts';

/** The limits of readings that are held against each other: each of a group a test of its own in the form. */
export function crossSubject(group: CrossGroup, { limits, beneath }: LimitsOfPlace): LimitSubject {
  const fields = crossGroups[group];
  return {
    tests: fields.map(({ limit, unit, perUnit }): LimitTest => {
      const set = limits.cross?.[limit];
      const held = beneath.cross[limit];
      return {
        key: limit,
        ...words.cross.limits[limit],
        fields: [{ label: words.cross.field, unit }],
        beneath: words.beneath(sayCross(held.limit ?? 0, unit, perUnit), held.from, held.source),
        back: words.back[held.from],
        mayBeOff: false,
        entry: { values: [set === undefined ? null : typed(set, perUnit)], off: false },
      };
    }),
    put(entries) {
      const typedIn = fields.map((_, at) => entries[at]?.values[0] ?? null);
      const faults = fields.map(({ least, most, unit }, at) => {
        const value = typedIn[at] ?? null;
        if (value === null || (value >= least && value <= most)) return undefined;
        return words.cross.bounds(plain(least), `${plain(most)}\u00a0${unit}`);
      });
      if (faults.some((fault) => fault !== undefined)) return failed(faults);
      const cross = withoutGroup(limits, group).cross ?? {};
      const next: Record<string, number> = { ...cross };
      fields.forEach(({ limit, perUnit }, at) => {
        const value = typedIn[at] ?? null;
        if (value !== null) next[limit] = Number((value * perUnit).toPrecision(12));
      });
      return ok(withCross(limits, next));
    },
  };
}

/** The limits without those of one group. */
export function withoutGroup(limits: QualityLimitsJson, group: CrossGroup): QualityLimitsJson {
  const names: readonly string[] = crossGroups[group].map(({ limit }) => limit);
  return withCross(
    limits,
    Object.fromEntries(
      Object.entries(limits.cross ?? {}).filter(([name]) => !names.includes(name)),
    ),
  );
}

/** What was set of a group, each limit a part of a sentence. */
export const sayGroup = (limits: QualityLimitsJson, group: CrossGroup): readonly string[] =>
  crossGroups[group].flatMap(({ limit, unit, perUnit }) => {
    const set = limits.cross?.[limit];
    if (set === undefined) return [];
    return [`${words.cross.limits[limit].legend.toLowerCase()} ${sayCross(set, unit, perUnit)}`];
  });

function withCross(limits: QualityLimitsJson, next: Partial<CrossLimits>): QualityLimitsJson {
  const { cross: _, ...rest } = limits;
  return Object.keys(next).length === 0 ? rest : { ...rest, cross: next };
}

const typed = (value: number, perUnit: number): number => Number((value / perUnit).toPrecision(12));

function sayCross(value: number, unit: string, perUnit: number): string {
  return `${plain(typed(value, perUnit))}\u00a0${unit}`;
}
