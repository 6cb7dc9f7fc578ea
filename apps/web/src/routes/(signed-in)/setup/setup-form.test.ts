import { describe, expect, it } from 'vitest';
import { emptySetup, nodeOf, shortName } from './setup-form.ts';

describe('the setup form', () => {
  it('makes a short name that addresses and topics accept', () => {
    // The patterns are the contract's: [a-z0-9-]{3,40} for a node, no leading hyphen for a site.
    expect(shortName('  Rushy Sluice – Nº 2 ')).toBe('rushy-sluice-n-2');
    expect(shortName('Hérôn Pool')).toBe('heron-pool');
    expect(shortName('x'.repeat(60))).toHaveLength(40);
  });

  it('sends levels as ratios though people write percent', () => {
    const node = nodeOf({
      ...emptySetup('Europe/London'),
      panelW: '20',
      batteryWh: '154',
      shutDownPercent: '15',
      restartPercent: '35',
    });
    expect(node.shutDownRatio).toBe(0.15);
    expect(node.restartRatio).toBe(0.35);
  });
});
