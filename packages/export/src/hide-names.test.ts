import { describe, expect, it } from 'vitest';
import { nameHider } from './hide-names.ts';

describe('the names of people in a package', () => {
  const hider = nameHider([
    { name: 'Wren', role: 'builder' },
    { name: 'Wren Halloway', role: 'volunteer' },
    { name: 'B. (Bram)', role: 'coordinator' },
  ]);

  it('give way to roles, the longer first, and only as whole words', () => {
    expect(hider.text('Wren Halloway set out by car, back by 15:20 UTC.')).toBe(
      'volunteer set out by car, back by 15:20 UTC.',
    );
    expect(hider.text('A wren’s nest; WREN saw it with B. (Bram), not Wrenna.')).toBe(
      'A builder’s nest; builder saw it with coordinator, not Wrenna.',
    );
    expect(hider.text(null)).toBeNull();
    expect(hider.text(12)).toBe(12);
  });

  it('that nobody bears any more are still names where a name stands', () => {
    expect(hider.name('Ines')).toBe('a person');
    expect(hider.name('wren')).toBe('builder');
    expect(hider.name('')).toBe('');
    expect(hider.name(undefined)).toBeUndefined();
    expect(nameHider([]).text('Wren was there.')).toBe('Wren was there.');
  });
});
