import { describe, expect, it } from 'vitest';
import { pageList, whereIs } from './page-list.ts';

const names = (pages: readonly { readonly href: string }[]) => pages.map(({ href }) => href);

describe('what leads to the pages', () => {
  it('offers a reader what they may open, and nothing else', () => {
    const pages = pageList(['read']);
    expect(names(pages)).toEqual(['/', '/watch', '/rounds', '/rota', '/sizing', '/score', '/help']);
  });

  it('gathers what few people need under one word', () => {
    const pages = pageList(['read', 'export', 'change-nodes', 'arrange-people']);
    expect(names(pages)).toEqual([
      '/',
      '/watch',
      '/rounds',
      '/rota',
      '/sizing',
      '/score',
      '/data',
      '/setup',
      '/help',
    ]);
    expect(pages.filter(({ under }) => under.length > 0).map(({ under }) => names(under))).toEqual([
      ['/data', '/data/report', '/data/import'],
      ['/setup', '/setup/people', '/setup/rules', '/quarantine'],
    ]);
  });

  it('leads whoever arranges people only to the people', () => {
    const setup = pageList(['read', 'arrange-people']).find(({ under }) => under.length > 0);
    expect(setup?.href).toBe('/setup/people');
  });

  it.each([
    ['/', '/', undefined],
    ['/sites/tarn-gill', undefined, undefined],
    ['/setup/prove/tarn-gill', '/setup', '/setup'],
    ['/setup/people', '/setup', '/setup/people'],
    ['/quarantine', '/setup', '/quarantine'],
    ['/data/report', '/data', '/data/report'],
    ['/score/alerts', '/score', undefined],
  ])('knows where %s is', (path, main, under) => {
    const pages = pageList(['read', 'export', 'change-nodes', 'arrange-people']);
    const where = whereIs(pages, path);
    expect([where.main?.href, where.under?.href]).toEqual([main, under]);
  });
});
