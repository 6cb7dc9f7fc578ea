import { describe, expect, it } from 'vitest';
import { sayContents } from './say-contents.ts';

describe('what an export has', () => {
  it('is told by what a row stands for, and by its metrics', () => {
    expect(sayContents({})).toBe('every reading; all metrics');
    expect(sayContents({ aggregate: '1d' })).toBe('a value for every day of the site; all metrics');
    expect(sayContents({ aggregate: '1d', day: 'utc' })).toMatch(/^a value for every day of UTC/);
    expect(sayContents({ aggregate: '1h', metrics: ['rain', 'panel_w'] })).toBe(
      'a value for every hour; Rain, Panel power',
    );
  });
});
