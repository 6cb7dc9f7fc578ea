import { describe, expect, it } from 'vitest';
import { faultOfNumber, faultsOf } from './number-fields.ts';
import { readNumber } from './read-number.ts';
import { emptySetup, siteOf } from './setup-form.ts';

describe('a number in the setup form', () => {
  it('is read with a decimal comma as with a point', () => {
    expect(readNumber('54,9')).toBe(54.9);
    expect(readNumber(' 54.9 ')).toBe(54.9);
    expect(readNumber('−2,31')).toBe(-2.31);
    for (const none of ['', '54,9,1', '1.2.3', '54°', '1e3', 'north'])
      expect(readNumber(none), none).toBeUndefined();
    const typed = {
      ...emptySetup('UTC'),
      latitudeDeg: '54,9',
      longitudeDeg: '-2,3',
      elevationM: '310',
    };
    expect(siteOf(typed)).toMatchObject({ latitudeDeg: 54.9, longitudeDeg: -2.3 });
  });

  it('that is wrong is named with what it may be', () => {
    expect(faultOfNumber('latitudeDeg', '549')).toBe('It must lie between −90 and 90.');
    expect(faultOfNumber('latitudeDeg', '54° N')).toBe(
      '“54° N” is no number. Write it with digits alone, such as 54.9 or 54,9.',
    );
    expect(faultOfNumber('seriesCells', '3.5')).toBe('It must be a whole number.');
    expect(faultOfNumber('panelW', '')).toBe('It is needed.');
    expect(faultOfNumber('panelW', '0')).toBe('It must lie between 0.1 and 5,000.');
    expect(faultOfNumber('panelW', '20')).toBeUndefined();
  });

  it('stands beside its field, all at once', () => {
    const form = { ...emptySetup('UTC'), name: 'Thornhow', id: 'T', restartPercent: '10' };
    expect(Object.keys(faultsOf(form)).sort()).toEqual(
      ['batteryWh', 'elevationM', 'id', 'latitudeDeg', 'longitudeDeg', 'nodeName'].concat([
        'panelW',
        'restartPercent',
      ]),
    );
    expect(faultsOf(form).restartPercent).toBe('It must lie above the shut-down level.');
  });
});
