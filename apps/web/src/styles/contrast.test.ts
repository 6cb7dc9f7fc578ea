import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

type Rgb = readonly [number, number, number];
type Theme = 'light' | 'dark';

const source = readFileSync(new URL('./tokens/colour.css', import.meta.url), 'utf8');
const tokens = new Map(
  [...source.matchAll(/--([a-z-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);/g)].map(
    ([, name = '', light = '', dark = '']) => [name, { light, dark }] as const,
  ),
);

const rgb = (hex: string): Rgb => {
  const channel = (at: number): number => Number.parseInt(hex.slice(at, at + 2), 16) / 255;
  return [channel(1), channel(3), channel(5)];
};

/** Relative luminance, WCAG 2.2 definition. */
function luminance(hex: string): number {
  const [r, g, b] = rgb(hex).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * (r ?? 0) + 0.7152 * (g ?? 0) + 0.0722 * (b ?? 0);
}

/** Contrast ratio 1–21, WCAG 2.2 definition. */
function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return ((light ?? 0) + 0.05) / ((dark ?? 0) + 0.05);
}

function colour(name: string, theme: Theme): string {
  const token = tokens.get(name);
  if (token === undefined) throw new Error(`no colour token --${name}`);
  return token[theme];
}

// Success criterion 1.4.3: text on every ground it stands on.
const text: readonly (readonly [string, string])[] = [
  ['ink', 'paper'],
  ['ink', 'paper-raised'],
  ['ink', 'night'],
  ['ink', 'reserve-pale'],
  ['ink', 'harvest-pale'],
  ['ink', 'person-pale'],
  ['paper', 'ink'],
  ['mute', 'paper'],
  ['mute', 'paper-raised'],
  ['mute', 'night'],
  ['mute', 'reserve-pale'],
  ['harvest-text', 'paper'],
  ['harvest-text', 'night'],
  ['person', 'paper'],
  ['person', 'paper-raised'],
  ['person', 'night'],
  ['person', 'person-pale'],
];

// Success criterion 1.4.11: lines, marks, borders of controls.
const graphics: readonly (readonly [string, string])[] = [
  ['reserve', 'paper'],
  ['reserve', 'night'],
  ['reserve', 'reserve-pale'],
  ['harvest', 'paper'],
  ['harvest', 'night'],
  ['harvest', 'reserve-pale'],
  ['person', 'paper'],
  ['person', 'night'],
  ['person', 'harvest-pale'],
  ['edge', 'paper'],
  ['edge', 'paper-raised'],
  ['focus', 'paper'],
  ['focus', 'paper-raised'],
];

describe('contrast of the colours', () => {
  it('is measured as WCAG measures it', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
    // #767676 is the lightest grey that passes on white; #777777 does not (widely published example, from memory).
    expect(contrast('#767676', '#ffffff')).toBeGreaterThanOrEqual(4.5);
    expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5);
  });

  it('finds every token, each written once for day and night', () => {
    const declared = [...source.matchAll(/^\s*--([a-z-]+):/gm)].map(([, name]) => name);
    expect([...tokens.keys()]).toEqual(declared);
    expect(tokens.size).toBeGreaterThanOrEqual(12);
  });

  for (const theme of ['light', 'dark'] as const) {
    it.each(text)(`${theme}: text %s on %s reaches 4.5`, (front, back) => {
      expect(contrast(colour(front, theme), colour(back, theme))).toBeGreaterThanOrEqual(4.5);
    });
    it.each(graphics)(`${theme}: line or mark %s on %s reaches 3`, (front, back) => {
      expect(contrast(colour(front, theme), colour(back, theme))).toBeGreaterThanOrEqual(3);
    });
  }
});
