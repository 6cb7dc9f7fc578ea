import { describe, expect, it } from 'vitest';
import { metricValue, percent, plusMinus, withUnit } from './quantity.ts';

describe('numbers as people read them', () => {
  it('never parts a number from its unit', () => {
    expect(percent(0.424)).toBe('42\u00a0%');
    expect(withUnit(-0.25, 'A', 3)).toBe('\u22120.250\u00a0A');
    expect(withUnit(-0.0001, 'V', 2)).toBe('0.00\u00a0V');
    expect(withUnit(7, '', 0)).toBe('7');
  });

  it('gives the band as points either side', () => {
    expect(plusMinus(0.36, 0.48)).toBe('±\u00a06');
  });

  it('reads many seconds as a length of time', () => {
    expect(metricValue('uptime', 5_184_195, 's')).toBe('60 days');
    expect(metricValue('interval', 30, 's')).toBe('30\u00a0s');
  });

  it('reads codes as words', () => {
    expect(metricValue('charge_stage', 3, '')).toBe('float');
    expect(metricValue('batt_v', 12.345, 'V')).toBe('12.35\u00a0V');
    expect(metricValue('no_such_metric', 1.5, 'K')).toBe('1.50\u00a0K');
  });
});
