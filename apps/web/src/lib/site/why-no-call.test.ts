import type { NodeDiagnosesJson, RuleListJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { alertFixture, outlookFixture, siteFixture } from '../fleet/fixtures.ts';
import { whyNoBatteryCall, whyNoStopCall } from './why-no-call.ts';

const rule = (key: string, name: string, settings: Readonly<Record<string, number>>) => ({
  key,
  name,
  settings: Object.entries(settings).map(([setting, value]) => ({ key: setting, default: value })),
});
const rules = {
  rules: [
    rule('forecast-low', 'Forecast to stop', { withinDays: 5, raiseAtPercent: 60 }),
    rule('battery-ageing', 'Battery ageing', { capacityPercent: 80, cycles: 2 }),
  ],
  inForce: [{ rule: 'forecast-low', setting: 'withinDays', scope: 'fleet', subject: '', value: 4 }],
  changes: [],
} as unknown as RuleListJson;
const site = (chance: number, alerts: ReturnType<typeof alertFixture>[] = []) =>
  siteFixture({ alerts, outlook: outlookFixture({ darkWithin7DaysProbability: chance }) });

describe('a page that calls nobody', () => {
  it('says by which horizon and chance the rule calls, as it counts for this node', () => {
    expect(whyNoStopCall(site(0.65), rules)).toBe(
      'No alert is open: the rule “Forecast to stop” calls at a chance of 60 % within 4 days, and the chance told here is of 7 days.',
    );
    expect(whyNoStopCall(site(0.2), rules)).toBeUndefined();
    expect(whyNoStopCall(site(0.65, [alertFixture()]), rules)).toBeUndefined();
    expect(whyNoStopCall({ ...site(0.65), state: 'dark-as-designed' }, rules)).toBeUndefined();
  });

  it('says what a battery must show before its rule calls', () => {
    const aged = (probability: number) =>
      [{ causes: [{ cause: 'battery-aged', probability }] }] as NodeDiagnosesJson['diagnoses'];
    expect(whyNoBatteryCall(site(0), rules, aged(0.97))).toBe(
      'No alert of the battery is open: the rule “Battery ageing” calls when it holds less than 80 % of its rating in 2 deep cycles, and has for a day. What stands here is read from the shape of its days, which is sooner known and less sure.',
    );
    expect(whyNoBatteryCall(site(0), rules, aged(0.4))).toBeUndefined();
    const open = alertFixture({ rule: 'battery-ageing' });
    expect(whyNoBatteryCall(site(0, [open]), rules, aged(0.97))).toBeUndefined();
  });
});
