import { describe, expect, it } from 'vitest';
import { holdUnits } from './hold-units.ts';

describe('holdUnits', () => {
  it('keeps a number and its unit on one line, and lets words part', () => {
    expect(holdUnits('10 % chance by Fri, 95 % within 7 days.')).toBe(
      '10\u00a0% chance by Fri, 95\u00a0% within 7\u00a0days.',
    );
    expect(holdUnits('Never charge below 0 °C.')).toBe('Never charge below 0\u00a0°C.');
    expect(holdUnits('Fri 27 Nov at 3 sites; 2 heads, 4 Wheel')).toBe(
      'Fri 27 Nov at 3 sites; 2 heads, 4 Wheel',
    );
  });
});
