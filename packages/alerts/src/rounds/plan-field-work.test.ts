import { powerCauses, silenceCauses } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { likely, node } from '../testing.ts';
import { rules } from '../rules/index.ts';
import { planFieldWork } from './plan-field-work.ts';
import { fieldGuide } from './field-guide.ts';

describe('what to bring and to do', () => {
  it('follows from the probable cause, and names the battery’s size', () => {
    const work = planFieldWork({
      power: node.power,
      silence: likely('dark-declared', 0.6),
      charging: likely('soiling', 0.5),
      rules: [],
    });
    expect(work.causes.map(({ cause }) => cause)).toEqual(['dark-declared', 'soiling']);
    expect(work.bring.map(({ what }) => what)).toContain(
      'charged battery of the same kind (100 Wh, 4 cells in series)',
    );
    expect(work.bring.map(({ what }) => what)).toContain('water, soft brush and cloth');
  });

  it('follows from alerts where diagnosis is silent, and leaves out what is improbable', () => {
    const work = planFieldWork({ charging: likely('snow', 0.1), rules: ['silent-unexplained'] });
    expect(work.causes.map(({ cause }) => cause)).toEqual(['broken']);
    expect(work.bring.some(({ what }) => what.startsWith('spare node'))).toBe(true);
  });

  it('has a line for every cause there is, and no thing twice', () => {
    for (const cause of [...silenceCauses, ...powerCauses]) {
      expect(fieldGuide[cause]).toBeDefined();
      const { bring } = planFieldWork({ silence: likely(cause), rules: [] });
      const things = bring.map(({ what }) => what);
      expect(new Set(things).size).toBe(things.length);
    }
  });

  it('names a battery once, the new one, and a memory card once, the one with the program', () => {
    const { bring } = planFieldWork({
      power: node.power,
      silence: likely('dark-declared', 0.6),
      charging: likely('battery-aged', 0.7),
      rules: ['load-abnormal'],
    });
    const things = bring.map(({ what }) => what);
    expect(things.filter((what) => what.includes('battery'))).toEqual([
      'new battery of the same kind, charged (100 Wh, 4 cells in series)',
    ]);
    expect(things.filter((what) => what.includes('memory card'))).toEqual([
      'spare memory card with the program',
    ]);
  });

  it('gives every line of the check list a key of its own', () => {
    const work = planFieldWork({
      silence: likely('broken', 0.5),
      charging: likely('connector', 0.5),
      rules: rules.map(({ key }) => key),
    });
    const keys = [...work.first, ...work.causes.flatMap(({ steps }) => steps), ...work.last].map(
      ({ key }) => key,
    );
    expect(keys.length).toBeGreaterThan(15);
    expect(new Set(keys).size).toBe(keys.length);
  });
});

// Trade document §6: sources there are makers' data sheets, HSE INDG401, OSHA and insurers' guidance; all defer to local rules.
describe('the cautions', () => {
  it('are never without the one that gives no permission, and name the battery’s own danger', () => {
    const says = (over: object) =>
      planFieldWork({ rules: [], ...over })
        .cautions.map((one) => one.says)
        .join(' ');
    expect(says({})).toContain('licensed people');
    expect(says({})).toContain('not an emergency service');
    expect(says({ power: node.power })).toContain('Never charge below 0 °C');
    const lead = { ...node.power, battery: { ...node.power.battery, chemistry: 'lead-acid-agm' } };
    expect(says({ power: lead })).toContain('explosive gas');
    expect(says({ power: lead })).not.toContain('Never charge below 0 °C');
  });
});
