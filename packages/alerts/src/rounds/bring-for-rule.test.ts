import { powerCauses, silenceCauses, type Diagnosis } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { rules } from '../rules/index.ts';
import { usualCases } from '../rules/usual-cases.ts';
import { charge, likely, node, site, startMs, verdict, type Given } from '../testing.ts';
import { DOES_FOR } from './field-guide.ts';
import { planFieldWork } from './plan-field-work.ts';

/** Seen to from home, or nothing to be touched: said so instead of a list. */
const NO_LIST = /^nothing/;
const causes = [undefined, ...silenceCauses, ...powerCauses] as const;
type Cause = (typeof causes)[number];

function brought(key: string, { readings = {}, ...given }: Given, cause: Cause) {
  const found: Diagnosis | undefined = cause === undefined ? undefined : likely(cause, 0.6);
  const isPower = (powerCauses as readonly string[]).includes(cause ?? '');
  const diagnosed = found === undefined ? {} : isPower ? { power: found } : { silence: found };
  const finding = rules
    .find((rule) => rule.key === key)
    ?.evaluate({
      nowMs: startMs,
      site,
      node,
      verdict: verdict('up'),
      charge: { ...charge(0.7), observedAtMs: startMs },
      lastHeardAtMs: startMs,
      latest: Object.entries(readings).map(([metric, value]) => ({
        metric: metric as never,
        observedAtMs: startMs,
        value,
      })),
      ...given,
      ...(given.charge === undefined ? {} : { charge: { ...given.charge, observedAtMs: startMs } }),
      ...(given.outlook === undefined
        ? {}
        : { outlook: { ...given.outlook, issuedAtMs: startMs } }),
      ...diagnosed,
    });
  if (finding?.kind !== 'holds') return undefined;
  const { power, silence } = { ...given, ...diagnosed };
  // Another alert open there makes the list of the visit longer, never shorter, but for what does the work of two.
  const visit = planFieldWork({
    rules: [key, 'battery-ageing', 'load-abnormal'],
    power: node.power,
    ...(silence === undefined ? {} : { silence }),
    ...(power === undefined ? {} : { charging: power }),
  }).bring.map(({ what }) => what);
  return { alert: finding.text.bring, visit };
}

/** Things the list does without because it has what does their work. */
const covered = (visit: readonly string[]): readonly string[] =>
  Object.entries(DOES_FOR).flatMap(([what, others]) =>
    visit.some((one) => one.startsWith(what)) ? others : [],
  );

describe('what an alert says to bring', () => {
  const cases = Object.entries(usualCases).flatMap(([key, { fires }]) =>
    causes.flatMap((cause) => {
      const both = brought(key, fires, cause);
      return both === undefined || NO_LIST.test(both.alert) ? [] : [{ key, cause, ...both }];
    }),
  );

  it('is asked of many rules, whatever diagnosis holds for likely', () => {
    expect(cases.length).toBeGreaterThan(200);
    expect(new Set(cases.map(({ key }) => key)).size).toBeGreaterThan(12);
  });

  it('all stands on the list of the visit', () => {
    const missing = cases.flatMap(({ key, cause, alert, visit }) =>
      alert
        .split('; ')
        .filter(
          (thing) => !visit.includes(thing) && !covered(visit).some((one) => thing.startsWith(one)),
        )
        .map((thing) => `${key} (${cause ?? 'no diagnosis'}): ${thing}`),
    );
    expect(missing).toEqual([]);
  });

  it('has the aerial where it says to look at the aerial', () => {
    const silent = cases.find(({ key, cause }) => key === 'silent-unexplained' && !cause);
    expect(silent?.alert).toBe(
      'spare node with its key and card; spare memory card; fuse; power cable; aerial with cable',
    );
    expect(silent?.visit).toContain('meter');
  });
});
